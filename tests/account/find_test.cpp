// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/find.hpp"

#include "account/heard.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

namespace lull {
namespace {

using test::heard_event;

class Finds : public testing::Test {
  protected:
    std::vector<Find> gathered() {
        return gather_finds({&recording, 0.0, recording.duration_s(), events, series, hails, quiet,
                             &findings, log, judgements, nullptr});
    }
    /// Events of each find, in order of rank.
    std::vector<std::vector<int>> order() {
        std::vector<std::vector<int>> all;
        for (const Find& find : gathered())
            all.push_back(find.events);
        return all;
    }
    const Evidence* evidence(const Find& find, const std::string& code) {
        const auto found = std::ranges::find(find.evidence, code, &Evidence::code);
        return found == find.evidence.end() ? nullptr : &*found;
    }

    test::ThreeChannels recording;
    std::vector<Event> events;
    std::vector<Series> series;
    std::vector<Hail> hails;
    std::vector<QuietPeriod> quiet;
    std::vector<Finding> findings;
    std::vector<LogRow> log;
    std::vector<JudgementRow> judgements;
};

constexpr EventKind tap = EventKind::tapping, voice = EventKind::voice_like, horn = EventKind::horn,
                    other = EventKind::other;

TEST_F(Finds, SeriesIsOneFindWithItsHighestConfidence) {
    events = {heard_event(1, tap, 10.0, 0.3, 9.0, 0, 1), heard_event(2, tap, 10.6, 0.4, 15.0, 1, 1),
              heard_event(3, tap, 11.2, 0.2, 7.0, 0, 1), heard_event(4, tap, 40.0, 0.2, 7.0, 0)};
    series.push_back({1, 3, 10.0, 11.3, 0.6, 0.95, 0.8, 1, {1, 2, 3}});
    const std::vector<Find> finds = gathered();
    ASSERT_EQ(finds.size(), 2U);
    EXPECT_EQ(finds[0].form, FindForm::series);
    EXPECT_EQ(finds[0].confidence, 0.8);
    EXPECT_EQ(finds[0].snr_db, 15.0);
    EXPECT_EQ(finds[0].best, 2);
    EXPECT_EQ(finds[0].channels, (std::vector{0, 1}));
    EXPECT_EQ(evidence(finds[0], "taps")->figure, 3.0);
    EXPECT_EQ(evidence(finds[0], "interval_s")->figure, 0.6);
    EXPECT_EQ(evidence(finds[1], "taps"), nullptr);
}

TEST_F(Finds, SyllablesThatFollowOneAnotherOnAChannelAreOneCall) {
    events = {heard_event(1, voice, 10.0, 0.7, 9.0, 0), heard_event(2, voice, 11.0, 0.6, 9.0, 0),
              heard_event(3, voice, 12.0, 0.9, 9.0, 2), heard_event(4, voice, 30.0, 0.8, 9.0, 0)};
    EXPECT_EQ(order(), (std::vector<std::vector<int>>{{3}, {4}, {1, 2}}));
}

TEST_F(Finds, BlastsOfOneSignalAreOneFind) {
    events = {heard_event(1, horn, 10.0, 0.9, 20.0, 0), heard_event(2, horn, 11.5, 0.9, 20.0, 0),
              heard_event(3, horn, 13.0, 0.9, 20.0, 0), heard_event(4, horn, 60.0, 0.9, 20.0, 0)};
    for (Event& event : events)
        event.end_s = event.onset_s + 0.8;
    const std::vector<Find> finds = gathered();
    ASSERT_EQ(finds.size(), 2U);
    EXPECT_EQ(finds[0].form, FindForm::signal);
    EXPECT_EQ(finds[0].events, (std::vector{1, 2, 3}));
    EXPECT_EQ(evidence(finds[0], "blasts")->figure, 3.0);
}

TEST_F(Finds, RepeatedSoundIsOneFindUntilALongPause) {
    events = {heard_event(1, tap, 10.0, 0.6, 9.0, 0), heard_event(2, tap, 20.0, 0.5, 9.0, 0),
              heard_event(3, tap, 90.0, 0.4, 9.0, 0)};
    for (Event& event : events)
        event.like = SeriesLikeness{7, 0.6, 20.0};
    const std::vector<Find> finds = gathered();
    ASSERT_EQ(finds.size(), 2U);
    EXPECT_EQ(finds[0].events, (std::vector{1, 2}));
    EXPECT_EQ(finds[0].form, FindForm::again);
    EXPECT_EQ(evidence(finds[0], "like_series")->figure, 7.0);
}

TEST_F(Finds, StrongBlowRanksAboveDoubtfulFinds) {
    events = {heard_event(1, tap, 10.0, 0.2, 25.0, 0), heard_event(2, tap, 20.0, 0.4, 9.0, 0),
              heard_event(3, other, 30.0, 0.95, 40.0, 0)};
    for (int channel : {1, 2}) {
        Arrival more = events[0].arrivals[0];
        more.channel = channel;
        events[0].arrivals.push_back(more);
    }
    EXPECT_EQ(order(), (std::vector<std::vector<int>>{{3}, {1}, {2}}));
    const std::vector<Find> finds = gathered();
    EXPECT_EQ(finds[1].form, FindForm::blow);
    EXPECT_TRUE(is_foremost(finds[1]));
    EXPECT_FALSE(is_foremost(finds[2]));
}

TEST_F(Finds, PossibleSignOfLifeRanksFirst) {
    events = {
        heard_event(1, other, 10.0, 0.95, 40.0, 0), heard_event(2, tap, 20.0, 0.2, 30.0, 0),
        heard_event(3, voice, 30.0, 0.6, 5.0, 0),   heard_event(4, tap, 40.0, 0.95, 8.0, 0),
        heard_event(5, tap, 50.0, 0.91, 20.0, 0),   heard_event(6, other, 60.0, 0.3, 50.0, 0)};
    EXPECT_EQ(order(), (std::vector<std::vector<int>>{{5}, {4}, {3}, {1}, {6}, {2}}));
}

TEST_F(Finds, HailsOfTheTeamAreNoFinds) {
    events = {heard_event(1, tap, 10.0, 0.99, 40.0, 0, 1),
              heard_event(2, tap, 11.0, 0.97, 20.0, 1, 1)};
    events[0].hail = 1;
    const std::vector<Find> finds = gathered();
    ASSERT_EQ(finds.size(), 1U);
    EXPECT_EQ(finds[0].events, std::vector{2}) << "what answered in the same rhythm is one";
    const FindCounts counts = count_finds(finds, events, 4);
    EXPECT_EQ(counts.headline, 1);
    EXPECT_EQ(counts.of_hails, 1);
    EXPECT_EQ(counts.events, 2);
    EXPECT_EQ(counts.not_listed, 4);
}

TEST_F(Finds, FindHasTheJudgementsOfAllItsEvents) {
    events = {heard_event(1, tap, 10.0, 0.9, 9.0, 0, 1), heard_event(2, tap, 10.6, 0.9, 9.0, 0, 1)};
    series.push_back({1, 2, 10.0, 10.7, 0.6, 1.0, 0.9, 0, {1, 2}});
    JudgementRow row;
    row.channel = "stairwell";
    row.onset_s = 10.7;
    judgements.push_back(row);
    row.old_kind = "horn";
    judgements.push_back(row);
    row.old_kind = "tapping";
    row.channel = "void";
    judgements.push_back(row);
    const Find find = gathered().at(0);
    EXPECT_EQ(find.judgements, std::vector<std::size_t>{0});
    EXPECT_TRUE(find.listened);
}

TEST(WithoutDetails, NothingNamesPeopleOrPlacesAndTheOriginalIsUnchanged) {
    const test::ThreeChannels recording;
    Account whole;
    whole.provenance = {
        "lull-review", {{"channels", std::string("stairwell;void"), -1}}, &recording};
    whole.log = {{1.0, "A Person", "heard", {0}, "near the void"}};
    JudgementRow row;
    row.reviewer = "B Person";
    row.channel = "void";
    row.reason = "sure";
    whole.judgements = {row};
    whole.places.emplace_back();
    const Account poorer = without_details(whole);
    EXPECT_EQ(poorer.recording().channels[2].name, "channel 3");
    EXPECT_EQ(recording.channels[2].name, "void");
    EXPECT_EQ(whole.recording().channels[2].name, "void");
    EXPECT_EQ(poorer.judgements[0].channel, "channel 3");
    EXPECT_EQ(poorer.judgements[0].reviewer + poorer.judgements[0].reason, "");
    EXPECT_EQ(poorer.log[0].person + poorer.log[0].text, "");
    EXPECT_EQ(std::get<std::string>(poorer.provenance.settings[0].value), "channel 1;channel 3");
    EXPECT_TRUE(poorer.places.empty());
}

} // namespace
} // namespace lull
