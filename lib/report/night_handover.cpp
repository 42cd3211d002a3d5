// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/night.hpp"

#include "recording/start_time.hpp"
#include "report/caution.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

namespace lull {
namespace {

// What each part may take; together with headings, cautions and counts under handover_most_bytes.
constexpr std::size_t left_out_bytes = 420, finds_bytes = 560, unheard_bytes = 100,
                      hails_bytes = 160, faults_bytes = 300;
constexpr std::size_t longest_name = 36, longest_reason = 60;

/// A name or reason as one can read it out: one line, not too long, cut between characters.
std::string spoken(const std::string& text, std::size_t longest) {
    std::string line = valid_utf8(text);
    for (char& c : line)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
    if (line.size() <= longest) return line;
    std::size_t end = longest - 3;
    while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U)
        --end;
    return line.substr(0, end) + "...";
}

std::string duration(double seconds) {
    const auto whole = static_cast<long long>(std::llround(seconds));
    return fmt::format("{:02}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

/// Time of day, else time from the start.
std::string moment(const Recording& recording, double time_s) {
    const std::string clock = clock_text(recording.start, time_s);
    return clock.size() < 19 ? "+" + duration(std::floor(time_s)) : clock.substr(11, 8);
}

std::string date_and_time(const Recording& recording, double time_s) {
    const std::string clock = clock_text(recording.start, time_s);
    return clock.size() < 19 ? moment(recording, time_s)
                             : clock.substr(0, 10) + " " + clock.substr(11, 8);
}

/// As many lines as fit; then how many more there are, and where.
std::string fitted(const std::vector<std::string>& lines, std::size_t most_bytes) {
    std::string text;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const std::string more = fmt::format("and {} more, in night.json.\n", lines.size() - i);
        const bool last = i + 1 == lines.size();
        if (text.size() + lines[i].size() + 1 + (last ? 0 : more.size()) > most_bytes)
            return text + more;
        text += lines[i] + "\n";
    }
    return text;
}

std::string gaps_line(const Night& night, const Recording& recording, const char* what) {
    int count = 0;
    double total_s = 0.0, longest_s = -1.0, longest_at_s = 0.0;
    for (const NotAnalysed& one : night.not_analysed) {
        if (one.what != what || !one.from_s || !one.to_s) continue;
        ++count;
        const double length_s = *one.to_s - *one.from_s;
        total_s += length_s;
        if (length_s > longest_s) {
            longest_s = length_s;
            longest_at_s = *one.from_s;
        }
    }
    if (count == 0) return "";
    return fmt::format("{} between files: {}, {} in all, the longest {} from {}.", what, count,
                       duration(total_s), duration(longest_s), moment(recording, longest_at_s));
}

std::vector<std::string> left_out_lines(const Night& night, const Recording& recording) {
    std::vector<std::string> lines;
    for (const char* what : {"gap", "overlap"})
        if (std::string line = gaps_line(night, recording, what); !line.empty()) {
            line.front() = static_cast<char>(line.front() - 'a' + 'A');
            lines.push_back(std::move(line));
        }
    for (const NotAnalysed& one : night.not_analysed) {
        const std::string name = spoken(one.file, longest_name);
        if (one.what == "outside")
            lines.push_back(fmt::format("Left out: {} to {}, {}.", moment(recording, *one.from_s),
                                        moment(recording, *one.to_s), one.why));
        else if (one.what == "channel")
            lines.push_back("Channel left out: " + name + ".");
        else if (one.what == "skipped")
            lines.push_back(fmt::format("Skipped: {}, {}.", name, spoken(one.why, longest_reason)));
        else if (one.what == "cut short" || one.what == "damaged" || one.what == "changed")
            lines.push_back(
                fmt::format("Doubtful: {}, {}.", name, spoken(one.why, longest_reason)));
    }
    if (lines.empty()) lines.emplace_back("Nothing was left out.");
    return lines;
}

/// What the events of a find are called.
const char* parts_of(FindForm form) {
    switch (form) {
    case FindForm::call:
        return "syllables";
    case FindForm::signal:
        return "blasts";
    default:
        return "taps";
    }
}

std::string find_line(const Find& find, const Recording& recording) {
    return fmt::format("{}. {}.", find.number, find_text(find, recording));
}

/// "1 to 4, 6" of numbers that rise.
std::string ranges(const std::vector<int>& numbers, std::size_t most_bytes) {
    std::string text;
    for (std::size_t i = 0; i < numbers.size();) {
        std::size_t end = i;
        while (end + 1 < numbers.size() && numbers[end + 1] == numbers[end] + 1)
            ++end;
        const std::string next = (text.empty() ? "" : ", ") +
                                 (end == i ? fmt::format("{}", numbers[i])
                                           : fmt::format("{} to {}", numbers[i], numbers[end]));
        if (text.size() + next.size() > most_bytes)
            return text + fmt::format(" and {} more", numbers.size() - i);
        text += next;
        i = end + 1;
    }
    return text;
}

std::string finds_text(const Account& account, const std::vector<Find>& finds) {
    if (account.finds.empty())
        return account.hails.empty() ? std::string(no_event_text) + "\n" : "No find listed.\n";
    std::vector<std::string> lines;
    for (const Find& find : finds)
        lines.push_back(find_line(find, account.recording()));
    return fmt::format("Finds of confidence 0.5 and more: {}; below that: {}.\n",
                       account.counts.headline, account.counts.lower) +
           fitted(lines, finds_bytes);
}

std::string unheard_text(const std::vector<Find>& finds) {
    std::vector<int> numbers;
    for (const Find& find : finds)
        if (!find.listened) numbers.push_back(find.number);
    if (finds.empty()) return "No find to listen to.\n";
    if (numbers.empty()) return "Every find above was listened to.\n";
    if (numbers.size() == finds.size())
        return numbers.size() == 1 ? "The one find.\n"
                                   : fmt::format("All {} finds.\n", numbers.size());
    return fmt::format("{} of {} finds: {}.\n", numbers.size(), finds.size(),
                       ranges(numbers, unheard_bytes));
}

/// The team's own calls and knocks, by when they began.
std::string hails_text(const std::vector<Hail>& hails, const Recording& recording) {
    std::string text = fmt::format("{} of the team's own, not among the finds:", hails.size());
    for (std::size_t h = 0; h < hails.size(); ++h) {
        const std::string next = (h > 0 ? ", " : " ") + moment(recording, hails[h].from_s);
        const std::string more = fmt::format(" and {} more", hails.size() - h);
        if (text.size() + next.size() + more.size() + 2 > hails_bytes) return text + more + ".\n";
        text += next;
    }
    return text + ".\n";
}

std::vector<std::string> fault_lines(const Night& night, const Recording& recording) {
    std::vector<std::string> lines;
    for (const Fitness wanted : {Fitness::unfit, Fitness::doubtful})
        for (std::size_t i = 0; i < night.faults.size(); ++i) {
            const ChannelFault& fault = night.faults[i];
            if (fault.fitness != wanted) continue;
            if (i > 0 && night.faults[i - 1].channel == fault.channel) {
                lines.back() += ", " + fault.finding;
                continue;
            }
            const auto& channel = recording.channels[static_cast<std::size_t>(fault.channel)];
            lines.push_back(fmt::format("{}: {}, {}", spoken(channel.name, longest_name),
                                        name_of(fault.fitness), fault.finding));
        }
    for (std::string& line : lines)
        line = spoken(line, 2 * longest_reason) + ".";
    if (lines.empty()) lines.emplace_back("None found on any channel.");
    return lines;
}

} // namespace

std::string find_text(const Find& find, const Recording& recording) {
    const std::string& channel = recording.channels[static_cast<std::size_t>(find.channel)].name;
    std::string text = fmt::format("{}, {}", moment(recording, find.from_s), name_of(find.kind));
    if (find.form == FindForm::blow)
        text += ", one strong blow";
    else if (find.events.size() > 1)
        text += fmt::format(", {} {}", find.events.size(), parts_of(find.form));
    text += fmt::format(", {}, confidence {:.2f}", spoken(channel, longest_name), find.confidence);
    text += std::isfinite(find.snr_db) ? fmt::format(", {:.0f} dB over the noise", find.snr_db)
                                       : ", over digital silence";
    return text;
}

std::string handover_text(const Account& account) {
    const Night& night = account.night;
    const Recording& recording = account.recording();
    std::vector<Find> finds;
    for (const Find& find : account.finds)
        if (is_foremost(find)) finds.push_back(find);
    std::string text = "HANDOVER\n";
    if (recording.exercise) text += "EXERCISE. Made from a recording for training.\n";
    text += fmt::format("{} to {}, {} files, {} channels{}.\n", date_and_time(recording, 0.0),
                        date_and_time(recording, recording.duration_s()), night.files,
                        recording.channels.size(),
                        !recording.start.unix_s        ? ", times from the start"
                        : recording.start.utc_offset_s ? ""
                                                       : ", recorder's own time");
    text += "\nNOT ANALYSED\n" + fitted(left_out_lines(night, recording), left_out_bytes);
    text += "\nFINDS\n" + finds_text(account, finds);
    text += "\nNOT LISTENED TO YET\n" + unheard_text(finds);
    if (!account.hails.empty()) text += "\nHAILS\n" + hails_text(account.hails, recording);
    text += "\nSENSOR FAULTS\n" + fitted(fault_lines(night, recording), faults_bytes);
    return text + "\nCAUTION\n" + std::string(short_caution_text) + "\n";
}

} // namespace lull
