// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/shared_units.hpp"

#include "error.hpp"
#include "recording/digest.hpp"
#include "report/tables.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <memory>
#include <vector>

namespace lull {
namespace {

namespace fs = std::filesystem;

std::vector<Unit> units_of(const Recording& recording, const Settings& settings) {
    return plan_units(recording.frames, recording.rate_hz, settings.from, settings.to);
}

/// "3, 7 to 9"
std::string ranges(const std::vector<int>& numbers) {
    std::string text;
    for (std::size_t i = 0; i < numbers.size();) {
        std::size_t end = i;
        while (end + 1 < numbers.size() && numbers[end + 1] == numbers[end] + 1)
            ++end;
        text += (text.empty() ? "" : ", ") +
                (end == i ? fmt::format("{}", numbers[i])
                          : fmt::format("{} to {}", numbers[i], numbers[end]));
        i = end + 1;
    }
    return text;
}

/// A folder of another kind is not to be littered.
void make_unit_folder(const std::string& folder) {
    std::error_code fault;
    fs::create_directory(folder, fault);
    if (fault) throw_output(folder, fault.message(), "give a place in a folder that exists");
    for (const auto& entry : fs::directory_iterator(folder, fault))
        if (!entry.path().filename().string().starts_with("unit-"))
            throw_output(folder, "holds " + entry.path().filename().string() + ", which is no unit",
                         "give a folder that is new, empty, or holds units alone");
    if (fault) throw_output(folder, fault.message(), "give a folder that can be read");
}

/// Only of the files that the units read: the others may be many.
void digest_what_is_read(Recording& recording, const std::vector<Unit>& units) {
    for (std::size_t i = 0; i < recording.inputs.size(); ++i)
        if (std::ranges::any_of(units,
                                [&](const Unit& unit) { return depends_on(recording, unit, i); }) &&
            recording.inputs[i].sha256.empty())
            recording.inputs[i].sha256 = sha256_of_file(recording.inputs[i].path);
}

/// \return whether it lay there already
bool do_unit(UnitPass& pass, const Unit& unit, const UnitStore& store, const std::string& folder,
             const std::atomic<bool>& stop) {
    if (store.find(folder, unit)) return true;
    const UnitResult result = pass.run(unit, stop);
    if (!stop) store.keep(folder, unit, result);
    return false;
}

} // namespace

int do_units(Recording& recording, const ReviewRequest& request, std::pair<int, int> numbers,
             const ProgressSink& progress) {
    std::vector<Unit> units = units_of(recording, request.settings);
    const int last = units.back().number, first = units.front().number;
    std::erase_if(units, [&](const Unit& unit) {
        return unit.number < numbers.first || unit.number > numbers.second;
    });
    if (units.empty() || numbers.first < first || numbers.second > last)
        throw_usage(fmt::format("units {} to {}", numbers.first, numbers.second),
                    fmt::format("there are units {} to {}", first, last));
    make_unit_folder(request.folder);
    digest_what_is_read(recording, units);
    const UnitStore store(recording, request.settings, review_wants, request.program,
                          contents_of(recording));
    ProgressState state{"doing units", 0.0, 0.0, true};
    for (const Unit& unit : units)
        state.total_s += recording.seconds(unit.core_end - unit.core_begin);
    int earlier = 0;
    OrderedWork<bool>::run(
        units.size(), request.jobs,
        [&]() -> OrderedWork<bool>::Piece {
            auto pass = std::make_shared<UnitPass>(recording, request.settings, review_wants);
            return [pass, &units, &store, &request](std::size_t i, const std::atomic<bool>& stop) {
                return do_unit(*pass, units[i], store, request.folder, stop);
            };
        },
        [&](std::size_t i, bool&& was_there) {
            const double length_s = recording.seconds(units[i].core_end - units[i].core_begin);
            state.done_s += length_s;
            if (was_there) state.earlier_s += length_s;
            earlier += was_there ? 1 : 0;
        },
        [&] { progress(state); });
    return earlier;
}

void need_every_unit(const UnitStore& store, const Recording& recording,
                     const ReviewRequest& request) {
    std::vector<int> missing;
    for (const Unit& unit : units_of(recording, request.settings))
        if (std::ranges::none_of(request.gathered, [&](const std::string& folder) {
                return store.find(folder, unit).has_value();
            }))
            missing.push_back(unit.number);
    if (missing.empty()) return;
    throw_input(
        request.gathered.front(), "",
        fmt::format("{} {} {} missing, damaged, or of other inputs, settings or another program",
                    missing.size() == 1 ? "unit" : "units", ranges(missing),
                    missing.size() == 1 ? "is" : "are"),
        "do them with --unit, all other options the same");
}

std::string units_text(const Recording& recording, const Settings& settings) {
    std::string text;
    for (const Unit& unit : units_of(recording, settings))
        text += fmt::format("{} {:.6f} {:.6f}\n", unit.number, recording.seconds(unit.core_begin),
                            recording.seconds(unit.core_end));
    return text;
}

} // namespace lull
