// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/tables_finds.hpp"
#include "recording/start_time.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"

#include <fmt/format.h>

#include <map>

namespace lull {
namespace {

std::string evidence_text(const Find& find) {
    std::string text;
    for (const Evidence& one : find.evidence) {
        text += (text.empty() ? "" : ";") + one.code;
        if (one.figure) text += "=" + number_text(*one.figure, one.decimals);
    }
    return text;
}

std::string place_text(const NamedPlace& named) {
    const Place& place = named.place;
    std::string text = name_of(place.shape);
    if (place.x_m && place.y_m)
        text += fmt::format(" at {}, {} m", number_text(*place.x_m, 1), number_text(*place.y_m, 1));
    return text;
}

} // namespace

std::string judged_text(const Account& account, const Find& find, const Language& say) {
    std::map<std::string, const JudgementRow*> last; // of each reviewer
    for (const std::size_t j : find.judgements)
        last[account.judgements[j].reviewer] = &account.judgements[j];
    std::string text;
    for (const auto& [reviewer, row] : last)
        text += (text.empty() ? "" : "; ") + say.value(row->judgement) +
                (reviewer.empty() ? "" : " (" + reviewer + ")");
    return text;
}

Table finds_table(const Account& account, std::span<const Find> finds) {
    const Recording& recording = account.recording();
    Table table{"finds",
                {{"find"},
                 {"kind"},
                 {"from_s", time_decimals},
                 {"to_s", time_decimals},
                 {"channel"},
                 {"channels"},
                 {"snr_db", level_decimals},
                 {"confidence", share_decimals},
                 {"events"},
                 {"place"},
                 {"evidence"},
                 {"judged"},
                 {"onset_clock"}},
                {}};
    for (const Find& find : finds) {
        std::string channels;
        for (const int channel : find.channels)
            channels += (channels.empty() ? "" : ";") +
                        recording.channels[static_cast<std::size_t>(channel)].name;
        const NamedPlace* place = place_of(account, find);
        const std::string judged = judged_text(account, find),
                          clock = clock_text(recording.start, find.from_s);
        table.rows.push_back({cell_of(find.number), std::string(name_of(find.kind)), find.from_s,
                              find.to_s, channel_cell(recording, find.channel), channels,
                              snr_cell(find.snr_db), find.confidence, numbers_cell(find.events),
                              place ? Cell(place_text(*place)) : Cell(), evidence_text(find),
                              judged.empty() ? Cell() : Cell(judged),
                              clock.empty() ? Cell() : Cell(clock)});
    }
    return table;
}

} // namespace lull
