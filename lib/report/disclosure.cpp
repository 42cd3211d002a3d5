// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/disclosure.hpp"

#include "report/csv.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace lull {
namespace {

bool meets_none(const std::vector<TimeSpan>& withheld, double from_s, double to_s) {
    return std::ranges::none_of(withheld, [&](const TimeSpan& stretch) {
        return stretch.from_s < to_s && from_s < stretch.to_s;
    });
}

struct LongestFirst {
    bool operator()(const std::string& a, const std::string& b) const {
        return a.size() != b.size() ? a.size() > b.size() : a < b;
    }
};

void replace_all(std::string& text, const std::string& from, const std::string& to) {
    if (from.empty()) return;
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
        text.replace(at, from.size(), to);
}

} // namespace

bool Disclosure::may_hear(double from_s, double to_s) const {
    return sound && meets_none(withheld, from_s, to_s);
}

bool Disclosure::may_see(EventKind kind, double from_s, double to_s) const {
    return (sound || kind != EventKind::voice_like) && meets_none(withheld, from_s, to_s);
}

std::vector<TimeSpan> read_withheld(const std::string& file) {
    const CsvTable table(file, {"from_s", "to_s"});
    std::vector<TimeSpan> withheld;
    for (const CsvRow& row : table.rows()) {
        const TimeSpan stretch{table.number(row, "from_s"), table.number(row, "to_s")};
        if (!(stretch.from_s < stretch.to_s))
            table.fail(row, "to_s", "is not after from_s",
                       "a stretch with its end after its start");
        withheld.push_back(stretch);
    }
    return withheld;
}

void hide_details(Recording& recording) {
    // Longest names first: one may be part of another.
    std::map<std::string, std::string, LongestFirst> names;
    for (std::size_t i = 0; i < recording.inputs.size(); ++i) {
        InputFile& input = recording.inputs[i];
        names.emplace(input.label, fmt::format("input {}", i + 1));
        input.label = names.at(input.label);
    }
    int others = 0;
    for (const Notice& notice : recording.notices)
        if (!notice.file.empty() && !names.contains(notice.file))
            names.emplace(notice.file, fmt::format("other file {}", ++others));
    for (Notice& notice : recording.notices)
        for (const auto& [name, alias] : names) {
            if (notice.file == name) notice.file = alias;
            replace_all(notice.text, name, alias);
        }
}

} // namespace lull
