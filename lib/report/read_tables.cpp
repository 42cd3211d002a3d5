// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/read_tables.hpp"

#include "report/csv.hpp"
#include "report/internal/cells.hpp"

#include <fmt/format.h>

#include <array>

namespace lull {
namespace {

int channel_of(const CsvTable& table, const CsvRow& row, const char* column,
               const std::string& name, const Recording& recording) {
    if (const auto channel = channel_named(recording, name)) return *channel;
    std::string names;
    for (const Channel& channel : recording.channels)
        names += (names.empty() ? "" : ", ") + channel.name;
    table.fail(row, column, "no channel \"" + name + "\" in the recording", "one of " + names);
}

int channel_of(const CsvTable& table, const CsvRow& row, const char* column,
               const Recording& recording) {
    return channel_of(table, row, column, table.text(row, column), recording);
}

double time_within(const CsvTable& table, const CsvRow& row, const char* column,
                   const Recording& recording) {
    const double time_s = table.time(row, column, recording.start);
    // Six decimals may round a time at the very end past it.
    constexpr double rounding_s = 1e-6;
    if (time_s < 0.0 || time_s > recording.duration_s() + rounding_s)
        table.fail(row, column,
                   fmt::format("{} s is outside the recording", table.text(row, column)),
                   fmt::format("a time from 0 to {:.6f} s", recording.duration_s()));
    return time_s;
}

EventKind kind_of(const CsvTable& table, const CsvRow& row) {
    const std::string name = table.text(row, "kind");
    for (const EventKind kind :
         {EventKind::tapping, EventKind::voice_like, EventKind::horn, EventKind::other})
        if (name == name_of(kind)) return kind;
    table.fail(row, "kind", "\"" + name + "\" is no kind of event",
               "tapping, voice-like, horn or other");
}

std::optional<double> number_or_none(const CsvTable& table, const CsvRow& row, const char* column) {
    if (table.text(row, column).empty()) return std::nullopt;
    return table.number(row, column);
}

bool yes_or_no(const CsvTable& table, const CsvRow& row, const char* column) {
    const std::string word = table.text(row, column);
    if (word != "yes" && word != "no")
        table.fail(row, column, "\"" + word + "\" is neither", "yes or no");
    return word == "yes";
}

EventRow event_row(const CsvTable& table, const CsvRow& row, const Recording& recording) {
    EventRow event{.event = table.whole(row, "event"),
                   .kind = kind_of(table, row),
                   .onset_s = time_within(table, row, "onset_s", recording),
                   .end_s = time_within(table, row, "end_s", recording),
                   .channel = channel_of(table, row, "channel", recording),
                   .channels = {},
                   .series = table.text(row, "series").empty()
                                 ? std::nullopt
                                 : std::optional<int>(table.whole(row, "series")),
                   .confidence = number_or_none(table, row, "confidence"),
                   .snr_db = table.snr(row, "snr_db")};
    if (event.end_s < event.onset_s)
        table.fail(row, "end_s", "lies before onset_s", "a time at or after the onset");
    for (const std::string& name : split_list(table.text(row, "channels")))
        event.channels.push_back(channel_of(table, row, "channels", name, recording));
    if (event.channels.empty()) event.channels.push_back(event.channel);
    return event;
}

} // namespace

void each_event(const std::string& file, const Recording& recording,
                const std::function<void(EventRow&&)>& take) {
    in_csv_pieces(file, {"event", "kind", "onset_s", "end_s", "channel", "channels"},
                  [&](const CsvTable& table) {
                      for (const CsvRow& row : table.rows())
                          take(event_row(table, row, recording));
                  });
}

std::vector<EventRow> read_events(const std::string& file, const Recording& recording) {
    std::vector<EventRow> events;
    each_event(file, recording, [&](EventRow&& row) { events.push_back(std::move(row)); });
    return events;
}

std::vector<DelayRow> read_delays(const std::string& file, const Recording& recording) {
    const CsvTable table(file, {"event", "channel_a", "channel_b", "delay_s", "sigma_s", "usable"});
    std::vector<DelayRow> delays;
    for (const CsvRow& row : table.rows())
        delays.push_back({.event = table.whole(row, "event"),
                          .channel_a = channel_of(table, row, "channel_a", recording),
                          .channel_b = channel_of(table, row, "channel_b", recording),
                          .delay_s = number_or_none(table, row, "delay_s"),
                          .sigma_s = number_or_none(table, row, "sigma_s"),
                          .correlation = number_or_none(table, row, "correlation"),
                          .path_sigma_s = number_or_none(table, row, "path_sigma_s"),
                          .usable = yes_or_no(table, row, "usable"),
                          .reason = table.text(row, "reason"),
                          .by_envelope = table.text(row, "method") == "envelope",
                          .other_delay_s = number_or_none(table, row, "other_delay_s"),
                          .other_sigma_s = number_or_none(table, row, "other_sigma_s"),
                          .other_path_sigma_s = number_or_none(table, row, "other_path_sigma_s"),
                          .other_probability = number_or_none(table, row, "other_probability")});
    return delays;
}

std::vector<RankingRow> read_ranking(const std::string& file, const Recording& recording) {
    const CsvTable table(file, {"event", "rank", "channel", "peak_energy_db", "comparable"});
    std::vector<RankingRow> ranks;
    for (const CsvRow& row : table.rows()) {
        if (table.text(row, "event") == "all") continue;
        ranks.push_back({.event = table.whole(row, "event"),
                         .rank = table.text(row, "rank").empty()
                                     ? std::nullopt
                                     : std::optional<int>(table.whole(row, "rank")),
                         .channel = channel_of(table, row, "channel", recording),
                         .peak_energy_db = number_or_none(table, row, "peak_energy_db"),
                         .snr_db = table.snr(row, "snr_db"),
                         .below_strongest_db = number_or_none(table, row, "below_strongest_db"),
                         .comparable = table.text(row, "comparable"),
                         .level_unit = table.text(row, "level_unit")});
    }
    return ranks;
}

std::vector<NoiseRow> read_noise(const std::string& file, const Recording& recording) {
    const CsvTable table(file, {"channel", "band_hz", "from_s", "to_s", "floor_db", "level_unit"});
    std::vector<NoiseRow> rows;
    for (const CsvRow& row : table.rows())
        rows.push_back({.channel = channel_of(table, row, "channel", recording),
                        .band_hz = table.number(row, "band_hz"),
                        .from_s = time_within(table, row, "from_s", recording),
                        .to_s = time_within(table, row, "to_s", recording),
                        .floor_db = number_or_none(table, row, "floor_db"),
                        .median_db = number_or_none(table, row, "median_db"),
                        .level_db = number_or_none(table, row, "level_db"),
                        .level_unit = table.text(row, "level_unit")});
    return rows;
}

std::vector<JudgementRow> read_judgements(const std::string& file, const StartTime& start) {
    const CsvTable table(file, {"when", "reviewer", "report digest", "onset_s", "channel",
                                "old kind", "judgement", "new kind", "reason"});
    std::vector<JudgementRow> rows;
    for (const CsvRow& row : table.rows()) {
        JudgementRow judgement{.when = table.text(row, "when"),
                               .reviewer = table.text(row, "reviewer"),
                               .report_digest = table.text(row, "report digest"),
                               .onset_s = table.time(row, "onset_s", start),
                               .channel = table.text(row, "channel"),
                               .old_kind = table.text(row, "old kind"),
                               .judgement = table.text(row, "judgement"),
                               .new_kind = table.text(row, "new kind"),
                               .reason = table.text(row, "reason"),
                               .new_onset_s = std::nullopt,
                               .new_end_s = std::nullopt};
        if (!table.text(row, "new_onset_s").empty())
            judgement.new_onset_s = table.time(row, "new_onset_s", start);
        if (!table.text(row, "new_end_s").empty())
            judgement.new_end_s = table.time(row, "new_end_s", start);
        const std::string& word = judgement.judgement;
        if (word != "agree" && word != "disagree" && word != "unsure")
            table.fail(row, "judgement", "\"" + word + "\" is no judgement",
                       "agree, disagree or unsure");
        rows.push_back(std::move(judgement));
    }
    return rows;
}

std::vector<TimeSpan> read_withheld(const std::string& file, const StartTime& start) {
    const CsvTable table(file, {"from_s", "to_s"});
    std::vector<TimeSpan> withheld;
    for (const CsvRow& row : table.rows()) {
        const TimeSpan stretch{table.time(row, "from_s", start), table.time(row, "to_s", start)};
        if (!(stretch.from_s < stretch.to_s))
            table.fail(row, "to_s", "is not after from_s",
                       "a stretch with its end after its start");
        withheld.push_back(stretch);
    }
    return withheld;
}

} // namespace lull
