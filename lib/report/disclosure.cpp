// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/disclosure.hpp"

#include "report/csv.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

bool meets_none(const std::vector<TimeSpan>& withheld, double from_s, double to_s) {
    return std::ranges::none_of(withheld, [&](const TimeSpan& stretch) {
        return stretch.from_s < to_s && from_s < stretch.to_s;
    });
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
    for (std::size_t i = 0; i < recording.inputs.size(); ++i) {
        InputFile& input = recording.inputs[i];
        const std::string name = fmt::format("input {}", i + 1);
        for (Notice& notice : recording.notices)
            if (notice.file == input.label) notice.file = name;
        input.label = name;
    }
}

} // namespace lull
