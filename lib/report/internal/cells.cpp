// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/cells.hpp"

#include "report/csv.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

namespace lull {
namespace {

Cell level_cell(std::optional<double> level_db, const LevelScale& scale) {
    return level_db ? Cell(*level_db + scale.offset_db) : Cell();
}

} // namespace

Cell channel_cell(const Recording& recording, int channel) {
    if (channel < 0 || channel >= static_cast<int>(recording.channels.size())) return {};
    return recording.channels[static_cast<std::size_t>(channel)].name;
}

LevelScale scale_at(const Recording& recording, int channel, double time_s) {
    if (channel < 0 || channel >= static_cast<int>(recording.channels.size()))
        return {0.0, "dB re full scale"};
    return level_scale(channel_at(recording.session,
                                  recording.channels[static_cast<std::size_t>(channel)], time_s));
}

Cell power_cell(double power, const LevelScale& scale) {
    return level_cell(power_db(power), scale);
}

Cell amplitude_cell(double amplitude, const LevelScale& scale) {
    return level_cell(amplitude_db(amplitude), scale);
}

Cell snr_cell(std::optional<double> snr_db) {
    if (!snr_db || (std::isinf(*snr_db) && *snr_db < 0.0)) return {};
    return std::isinf(*snr_db) ? Cell(std::string(infinite_text)) : Cell(*snr_db);
}

Cell numbers_cell(std::span<const int> numbers) {
    if (numbers.empty()) return {};
    return fmt::format("{}", fmt::join(numbers, ";"));
}

std::optional<int> channel_named(const Recording& recording, const std::string& name) {
    const int count = static_cast<int>(recording.channels.size());
    for (int c = 0; c < count; ++c)
        if (recording.channels[static_cast<std::size_t>(c)].name == name) return c;
    int number = 0;
    const char* end = name.data() + name.size();
    const auto read = std::from_chars(name.data(), end, number);
    if (read.ec != std::errc() || read.ptr != end || number < 1 || number > count)
        return std::nullopt;
    return number - 1;
}

std::vector<std::string> split_list(const std::string& text) {
    std::vector<std::string> parts;
    for (std::size_t from = 0; from <= text.size();) {
        const std::size_t end = std::min(text.find(';', from), text.size());
        const std::size_t first = text.find_first_not_of(" \t", from);
        if (first < end) {
            const std::size_t last = text.find_last_not_of(" \t", end - 1);
            parts.push_back(text.substr(first, last - first + 1));
        }
        from = end + 1;
    }
    return parts;
}

} // namespace lull
