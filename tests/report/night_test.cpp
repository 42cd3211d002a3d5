// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/night.hpp"

#include "account/heard.hpp"
#include "fixtures.hpp"
#include "report/caution.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <limits>
#include <map>
#include <utility>
#include <vector>

namespace lull {
namespace {

Event event(int number, double onset_s, double confidence, double snr_db, int channel,
            std::optional<int> series = {}) {
    return test::heard_event(number, EventKind::tapping, onset_s, confidence, snr_db, channel,
                             series);
}

Hail hail(int number, double from_s, std::vector<int> events) {
    Hail one;
    one.number = number;
    one.from_s = from_s;
    one.to_s = from_s + 0.7;
    one.events = std::move(events);
    return one;
}

/// Two and a half hours from 23:15 to 01:45 on three channels.
class Summary : public testing::Test {
  protected:
    Summary() {
        recording.rate_hz = 8000.0;
        recording.frames = 9000 * 8000;
        recording.start.unix_s = 1773530100.0; // 2026-03-14T23:15:00
        recording.start.source = "session";
        recording.inputs.clear();
        for (int i = 0; i < 2; ++i) {
            InputFile file;
            file.label = i == 0 ? "a.wav" : "b.wav";
            file.first = i == 0 ? 0 : 5400LL * 8000;
            file.frames = 3600LL * 8000;
            recording.inputs.push_back(file);
        }
        recording.notices.push_back({"c.wav", "skipped: is not audio", true});
    }
    Account summed() {
        Account facts;
        facts.provenance = {"t", {}, &recording};
        facts.to_s = std::min(9000.0, recording.duration_s());
        facts.events = events;
        facts.series = series;
        facts.hails = hails;
        facts.quiet = quiet;
        facts.findings = findings;
        facts.log = log;
        facts.judgements = judgements;
        return concluded(std::move(facts), usual_horn_rules(), 0);
    }
    test::MadeUp recording;
    std::vector<Event> events;
    std::vector<Series> series;
    std::vector<Hail> hails;
    std::vector<QuietPeriod> quiet;
    std::vector<Finding> findings;
    std::vector<LogRow> log;
    std::vector<JudgementRow> judgements;
};

TEST_F(Summary, RanksAsItsRuleSays) {
    events = {event(1, 100.0, 0.55, 30.0, 0),    event(2, 200.0, 0.92, 10.0, 1, 1),
              event(3, 201.0, 0.30, 12.0, 1, 1), event(4, 300.0, 0.95, 11.0, 2),
              event(5, 400.0, 0.91, 5.0, 0),     event(6, 500.0, 0.93, 2.0, 0)};
    series.push_back({1, 2, 200.0, 201.1, 1.0, 0.9, 0.5, 1, {2, 3}});
    hails.push_back({1, 490.0, 495.0, 0, {6}, 5.0});
    quiet.push_back({390.0, 410.0, 9.0, 1.0, {5}, {}, {}});
    const Account account = summed();
    const Night& night = account.night;
    std::vector<std::vector<int>> order;
    for (const Find& find : account.finds)
        order.push_back(find.events);
    // All of 0.9: after a hail, in a quiet period, then by SNR (12 dB of the series over 11 dB).
    EXPECT_EQ(order, (std::vector<std::vector<int>>{{6}, {5}, {2, 3}, {4}, {1}}));
    EXPECT_EQ(account.finds[2].confidence, 0.92);
    EXPECT_EQ(account.finds[0].after_hail, 1);
    EXPECT_EQ(night.quiet.at(0).best, 2);
    EXPECT_EQ(night.quiet.at(0).heard.headline, 1);
}

TEST_F(Summary, OverADigitallySilentFloorIsFirstOfItsStep) {
    events = {event(1, 100.0, 0.95, 40.0, 0),
              event(2, 200.0, 0.95, std::numeric_limits<double>::infinity(), 1),
              event(3, 300.0, 0.95, 90.0, 0)};
    const Account account = summed();
    EXPECT_EQ(account.finds[0].events, std::vector{2});
    EXPECT_EQ(account.finds[1].events, std::vector{3});
    EXPECT_EQ(std::get<std::string>(night_table(account).rows[0][10]), "inf");
    EXPECT_NE(find_text(account.finds[0], recording).find(", over digital silence"),
              std::string::npos);
}

TEST_F(Summary, TheTeamsOwnHailsAreNoFinds) {
    events = {event(1, 100.0, 0.99, 40.0, 0, 1), event(2, 100.6, 0.99, 40.0, 0, 1),
              event(3, 110.0, 0.97, 20.0, 1, 1), event(4, 200.0, 0.96, 35.0, 2)};
    events[0].hail = events[1].hail = 1, events[3].hail = 2;
    hails = {hail(1, 100.0, {1, 2}), hail(2, 200.0, {4})};
    hails[0].followed_by = {3};
    const Account account = summed();
    const Night& night = account.night;
    ASSERT_EQ(account.finds.size(), 1U);
    EXPECT_EQ(account.finds[0].events, std::vector{3}) << "what answered in the same rhythm is one";
    EXPECT_EQ(account.finds[0].after_hail, 1);
    EXPECT_EQ(night.hours.at(0).headline, 1);
    const FindCounts& counts = account.counts;
    EXPECT_EQ(counts.headline, 1);
    EXPECT_EQ(counts.of_hails, 3);
    EXPECT_EQ(counts.lower, 0);
    const std::string text = handover_text(account);
    EXPECT_NE(text.find("Finds of confidence 0.5 and more: 1;"), std::string::npos) << text;
    EXPECT_NE(text.find("HAILS\n2 of the team's own, not among the finds: 23:16:40, 23:18:20.\n"),
              std::string::npos)
        << text;
    EXPECT_EQ(text.find("\n2. "), std::string::npos) << text;
    const auto json = nlohmann::json::parse(night_json(account));
    EXPECT_EQ(json.at("hails").at(0).at("events"), "1;2");
    EXPECT_EQ(json.at("counts").at("of_hails"), 3);
}

TEST_F(Summary, HoursAreThoseOfTheClockAndCountWhatWasRecorded) {
    events = {event(1, 2699.0, 0.6, 9.0, 0), event(2, 2700.0, 0.2, 9.0, 0),
              event(3, 6300.0, 0.7, 9.0, 0)};
    const Account account = summed();
    const Night& night = account.night;
    ASSERT_EQ(night.hours.size(), 3U); // 23:15, 00:00, 01:00
    EXPECT_EQ(night.hours[1].from_s, 2700.0);
    EXPECT_EQ(night.hours[0].headline, 1);
    EXPECT_EQ(night.hours[1].lower, 1);
    EXPECT_EQ(night.hours[1].analysed_s, 900.0 + 900.0); // a gap from 3600 s to 5400 s
    EXPECT_EQ(night.hours[2].headline, 1);
    EXPECT_EQ(night.files, 2);
    EXPECT_EQ(night.files_skipped, 1);
    ASSERT_EQ(night.not_analysed.size(), 2U);
    EXPECT_EQ(night.not_analysed[0].what, "skipped");
    EXPECT_EQ(night.not_analysed[1].what, "gap");
    EXPECT_EQ(night.not_analysed[1].from_s, 3600.0);
    EXPECT_EQ(account.finds[0].file, 1) << "the event at 6300 s lies in the second file";
}

TEST_F(Summary, DamageIsNotAnalysedAndStandsInTheHandover) {
    const Frame rate = static_cast<Frame>(recording.rate_hz);
    recording.inputs[0].lost = {{100 * rate, 20 * rate}, {200 * rate, 10 * rate}};
    recording.notices.push_back(
        {recording.inputs[0].label, "is damaged: 30.000000 s of it are lost", true});
    const Account account = summed();
    const Night& night = account.night;
    const auto damaged = std::ranges::find(night.not_analysed, "damaged", &NotAnalysed::what);
    ASSERT_NE(damaged, night.not_analysed.end());
    EXPECT_EQ(damaged->from_s, 100.0);
    EXPECT_EQ(damaged->to_s, 210.0);
    EXPECT_EQ(night.hours[0].analysed_s, 2700.0 - 30.0);
    EXPECT_NE(handover_text(account).find("Doubtful: " + recording.inputs[0].label),
              std::string::npos);
}

TEST_F(Summary, ListenedMeansAJudgementOrTheLogOnOneOfItsChannels) {
    events = {event(1, 10.0, 0.9, 9.0, 0), event(2, 20.0, 0.9, 9.0, 1), event(3, 40.0, 0.9, 9.0, 2),
              event(4, 60.0, 0.9, 9.0, 0)};
    JudgementRow judged;
    judged.channel = recording.channels[0].name;
    judged.onset_s = 10.1;
    judgements.push_back(judged);
    judged.onset_s = 20.0; // on another channel than the event
    judgements.push_back(judged);
    log.push_back({44.0, "A", "heard", {2}, ""});
    log.push_back({60.0, "A", "listening to", {0}, ""});
    std::map<int, bool> listened;
    const Account account = summed();
    for (const Find& find : account.finds)
        listened[find.events[0]] = find.listened;
    EXPECT_EQ(listened, (std::map<int, bool>{{1, true}, {2, false}, {3, true}, {4, false}}));
}

TEST_F(Summary, EveryChannelIsAccountedFor) {
    for (int i = 0; i < 3; ++i)
        findings.push_back({1, "clipping", 100.0 * i, 100.0 * i + 5.0, 1.0, "s", "e", "r", 2});
    const Account account = summed();
    const Night& night = account.night;
    ASSERT_EQ(night.faults.size(), 3U);
    EXPECT_EQ(night.faults[1].stretches, 3);
    EXPECT_EQ(night.faults[1].to_s, 205.0);
    EXPECT_EQ(night.faults[1].fitness, Fitness::unfit);
    EXPECT_EQ(night.faults[0].finding, "");
}

TEST_F(Summary, TheHandoverFitsHoweverMuchThereIs) {
    for (int i = 0; i < 300; ++i) {
        std::string name(200, 'x');
        for (std::size_t c = 0; c + 1 < name.size(); c += 2) // two bytes a character
            name[c] = '\xc3', name[c + 1] = '\xa4';
        recording.notices.push_back({name, "skipped: " + name, true});
        events.push_back(event(i + 1, 20.0 * i + 0.5, 0.9, 20.0, i % 3));
        findings.push_back(
            {i % 3, "clipping of kind " + std::to_string(i), 0.0, 9000.0, 1.0, "s", "e", "r", 2});
        if (i % 2) log.push_back({20.0 * i, "A", "heard", {}, ""});
        hails.push_back(hail(i + 1, 20.0 * i, {}));
    }
    for (Channel& channel : recording.channels)
        channel.name = std::string(300, 'n') + channel.name;
    recording.exercise = true;
    const std::string text = handover_text(summed());
    EXPECT_LE(text.size(), handover_most_bytes) << text;
    EXPECT_GT(text.size(), handover_most_bytes / 2) << text;
    EXPECT_EQ(nlohmann::json(text).dump().find("\xef\xbf\xbd"), std::string::npos)
        << "cut in the middle of a character";
    for (const char* part :
         {"more, in night.json.", "150 of 300 finds", "EXERCISE", "300 of the team's own"})
        EXPECT_NE(text.find(part), std::string::npos) << part << "\n" << text;
    EXPECT_NE(text.find(short_caution_text), std::string::npos);
    EXPECT_LT(text.find("NOT ANALYSED"), text.find("FINDS"));
}

TEST_F(Summary, TheHandoverOfAnEmptyNightSaysNoMoreThanThat) {
    recording.notices.clear();
    recording.inputs.pop_back();
    recording.start = {};
    recording.frames = 3600LL * 8000;
    const std::string text = handover_text(summed());
    EXPECT_NE(text.find(no_event_text), std::string::npos) << text;
    EXPECT_NE(text.find("Nothing was left out."), std::string::npos) << text;
    EXPECT_NE(text.find("+00:00:00 to +01:00:00"), std::string::npos) << text;
    EXPECT_EQ(text.find("clear"), std::string::npos);
}

} // namespace
} // namespace lull
