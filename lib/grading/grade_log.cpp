// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_log.hpp"

#include "error.hpp"

#include <algorithm>
#include <cmath>
#include <map>

namespace lull {
namespace {

constexpr std::size_t nothing = 0, unsure = 5;

std::string names_of(const LogRow& row, const std::vector<std::string>& channels) {
    std::string names;
    for (const int channel : row.channels) {
        if (!names.empty()) names += ";";
        names += channels.at(static_cast<std::size_t>(channel));
    }
    return names;
}

std::string listening_at(double time_s, std::span<const LogRow> by_time,
                         const std::vector<std::string>& channels) {
    std::map<std::string, std::string> now;
    for (const LogRow& row : by_time) {
        if (row.time_s > time_s) break;
        if (row.action == "listening to") now[row.person] = names_of(row, channels);
        if (row.action == "moved") now.erase(row.person);
    }
    std::string words;
    for (const auto& [person, names] : now) {
        if (names.empty()) continue;
        words +=
            (words.empty() ? "" : ", ") + (person.empty() ? "somebody" : person) + ": " + names;
    }
    return words;
}

std::size_t category_of(std::span<const Judgement> judgements, const std::string& reviewer,
                        const Slot& slot) {
    bool doubt = false;
    const Judgement* first = nullptr;
    for (const Judgement& j : judgements) {
        if (j.reviewer != reviewer || j.onset_s < slot.from_s || j.onset_s >= slot.to_s) continue;
        if (j.verdict == "unsure") doubt = true;
        if (j.verdict == "agree" && (!first || j.onset_s < first->onset_s)) first = &j;
    }
    if (!first) return doubt ? unsure : nothing;
    return 1 + static_cast<std::size_t>(
                   first->new_kind.value_or(first->old_kind.value_or(EventKind::other)));
}

} // namespace

std::vector<LogFinding> compare_with_log(std::span<const LogSubject> events,
                                         std::span<const LogRow> log,
                                         const std::vector<std::string>& channels,
                                         const GradeRules& rules) {
    std::vector<LogRow> by_time(log.begin(), log.end());
    std::stable_sort(by_time.begin(), by_time.end(),
                     [](const LogRow& a, const LogRow& b) { return a.time_s < b.time_s; });
    std::vector<LogFinding> findings;
    for (const LogSubject& event : events) {
        LogFinding finding{event.number, false, "no log entry", {}, {}, {}, {}};
        for (const LogRow& row : by_time) {
            if (row.action != "heard" || row.time_s < event.onset_s - rules.log_before_s ||
                row.time_s > event.end_s + rules.log_after_s)
                continue;
            const double after = row.time_s - event.onset_s;
            if (finding.in_log && std::abs(after) >= std::abs(*finding.after_s)) continue;
            finding.in_log = true;
            finding.words = "in the log";
            finding.written_s = row.time_s;
            finding.after_s = after;
            finding.person = row.person;
        }
        finding.listening = listening_at(event.onset_s, by_time, channels);
        findings.push_back(std::move(finding));
    }
    return findings;
}

ReviewerAgreement compare_reviewers(std::span<const Judgement> judgements, const std::string& first,
                                    const std::string& second, std::span<const Slot> slots) {
    if (slots.empty()) throw_input("", "", "there are no slots", "state the slots to compare over");
    for (const std::string& name : {first, second})
        if (std::none_of(judgements.begin(), judgements.end(),
                         [&](const Judgement& j) { return j.reviewer == name; }))
            throw_input("", "", "there is no judgement by " + name, "");
    ReviewerAgreement result;
    result.first = first;
    result.second = second;
    result.categories = {"nothing", "tapping", "voice-like", "horn", "other", "unsure"};
    const std::size_t k = result.categories.size();
    result.counts.assign(k * k, 0);
    for (const Slot& slot : slots)
        ++result.counts[category_of(judgements, first, slot) * k +
                        category_of(judgements, second, slot)];
    result.agreement = cohen_kappa(result.counts, static_cast<int>(k));
    return result;
}

} // namespace lull
