// SPDX-License-Identifier: GPL-3.0-or-later
#include "fixtures.hpp"
#include "report/page.hpp"
#include "report/report_data.hpp"
#include "report/tables.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

Event event_of(int number, EventKind kind, double confidence, double snr_db) {
    Event event;
    event.number = number;
    event.kind = kind;
    event.confidence = confidence;
    event.onset_s = number;
    event.end_s = number + 0.5;
    event.strongest = 2;
    Arrival arrival;
    arrival.channel = 2;
    arrival.onset_s = number;
    arrival.snr_db = snr_db;
    event.arrivals = {arrival};
    return event;
}

TEST(Page, TextFromOutsideCannotBecomeMarkup) {
    const test::MadeUp recording;
    const std::string harm = "</script><script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    ReportData report;
    report.provenance = {"lull-review", {}, &recording};
    report.to_s = 10.0;
    report.events = {event_of(1, EventKind::tapping, 0.9, 10.0)};
    report.events[0].why = harm;
    report.log = {{.time_s = 1.0, .person = harm, .action = harm, .channels = {}, .text = harm}};
    report.judgements = {{.when = harm,
                          .reviewer = harm,
                          .report_digest = "",
                          .onset_s = 1.0,
                          .channel = harm,
                          .old_kind = "",
                          .judgement = "",
                          .new_kind = "",
                          .reason = harm,
                          .new_onset_s = {}}};
    const std::string html = page_html(report, [](const PageFile&) {});
    EXPECT_EQ(html.find("<script>alert"), std::string::npos);
    EXPECT_EQ(html.find("<img src=x"), std::string::npos);
    EXPECT_NE(html.find("&lt;script&gt;alert(1)"), std::string::npos) << "the text is not shown";
    // Two of its own: the data and the script.
    std::size_t closed = 0;
    for (std::size_t at = 0; (at = html.find("</script", at)) != std::string::npos; ++at)
        ++closed;
    EXPECT_EQ(closed, 2U);
}

TEST(Page, WhatMayBeASignOfLifeComesBeforeWhatIsClearlySomethingElse) {
    const std::vector<Event> events = {
        event_of(1, EventKind::other, 0.95, 40.0),    event_of(2, EventKind::tapping, 0.2, 30.0),
        event_of(3, EventKind::voice_like, 0.6, 5.0), event_of(4, EventKind::tapping, 0.95, 8.0),
        event_of(5, EventKind::tapping, 0.91, 20.0),  event_of(6, EventKind::other, 0.3, 50.0),
    };
    std::vector<int> order;
    for (const std::size_t i : most_deserving_first(events))
        order.push_back(events[i].number);
    EXPECT_EQ(order, (std::vector<int>{5, 4, 3, 1, 6, 2}));
}

/// Text of a section of the page.
std::string section_of(const std::string& html, const std::string& name) {
    const std::size_t from = html.find("<section id=\"" + name + "\"");
    return from == std::string::npos ? "" : html.substr(from, html.find("</section>", from) - from);
}

TEST(Page, TheTeamsOwnHailsStandByThemselves) {
    const test::MadeUp recording;
    ReportData report;
    report.provenance = {"lull-review", {}, &recording};
    report.to_s = 10.0;
    report.events = {event_of(1, EventKind::tapping, 0.99, 40.0),
                     event_of(2, EventKind::tapping, 0.7, 10.0),
                     event_of(3, EventKind::tapping, 0.2, 10.0)};
    report.events[0].hail = 1;
    report.counts = count_events(report.events, 0);
    std::vector<Hail> own(1);
    own[0].number = 1;
    own[0].events = {1};
    report.tables = {hails_table(own, {}, recording)};
    std::vector<int> order;
    for (const std::size_t i : most_deserving_first(report.events))
        order.push_back(report.events[i].number);
    EXPECT_EQ(order, (std::vector{2, 1, 3}));
    const std::string html = page_html(report, [](const PageFile&) {});
    const std::string heard = section_of(html, "heard"), hails = section_of(html, "hails");
    EXPECT_EQ(heard.find("#event-1\""), std::string::npos) << heard;
    EXPECT_NE(heard.find("#event-2\""), std::string::npos) << heard;
    EXPECT_NE(hails.find("#event-1\""), std::string::npos) << hails;
    EXPECT_NE(html.find("id=\"event-1\""), std::string::npos) << "it can still be listened to";
    report.events.resize(1);
    report.counts = count_events(report.events, 0);
    EXPECT_NE(
        section_of(page_html(report, [](const PageFile&) {}), "heard").find("No event listed"),
        std::string::npos);
}

/// A report of many events on `channels` channels, each with sound, pictures, ranks and delays.
ReportData busy_report(const Recording& recording, double length_s, int events, int channels) {
    ReportData report;
    report.provenance = {"lull-review", {}, &recording};
    report.to_s = length_s;
    // As noisy as a waveform of sixteen steps can be, and as large as a spectrogram comes out.
    WaveShape wave;
    for (int i = 0; i < waveform_columns; ++i) {
        wave.low.push_back(static_cast<std::int8_t>(-(i * 7 % 17)));
        wave.high.push_back(static_cast<std::int8_t>(i * 5 % 17));
    }
    for (int c = 0; c < channels; ++c)
        report.courses.push_back(
            {"channel", 0.0, 1.0, std::vector<float>(static_cast<std::size_t>(length_s), 3.0F)});
    for (int n = 1; n <= events; ++n) {
        Event event = event_of(n, EventKind::tapping, 0.9, 10.0);
        event.onset_s = length_s * n / (events + 1);
        event.end_s = event.onset_s + 0.5;
        event.arrivals.resize(static_cast<std::size_t>(channels));
        event.why = std::string(150, 'w');
        EventPicture picture;
        picture.event = n;
        picture.channel = 2;
        picture.from_s = event.onset_s;
        picture.png = std::string(8000, 'x');
        for (int a = 0; a < channels; ++a) {
            event.arrivals[static_cast<std::size_t>(a)].channel = a % 3;
            picture.waves.emplace_back(a % 3, wave);
            RankRow rank;
            rank.event = n;
            rank.channel = a % 3;
            rank.rank = a + 1;
            rank.peak_energy_db = -30.0 - a;
            rank.level_unit = "dB re full scale";
            report.ranking.push_back(rank);
            for (int b = a + 1; b < channels; ++b)
                report.delays.push_back({n, a % 3, b % 3, 0.001, 0.0001, 0.0, 0.9, true, ""});
        }
        report.events.push_back(event);
        report.pictures.push_back(picture);
        report.sounds.push_back({n, 0.0, 1.0, {0, 1, 2}, "event-001.js"});
        if (n % 20 == 0)
            report.places.push_back({std::to_string(n), "evidence", std::string(40000, 'm')});
    }
    return report;
}

/// Of a night, and of two minutes in which a hundred times too much was found.
TEST(Page, StaysSmallWhateverWasFoundAndLosesNoEvent) {
    const test::MadeUp recording;
    const struct {
        double length_s;
        int events;
        std::size_t most_bytes;
    } cases[] = {{12.0 * 3600.0, 5000, 10000000}, {120.0, 300, 2000000}};
    for (const auto& [length_s, events, most_bytes] : cases) {
        const ReportData report = busy_report(recording, length_s, events, 6);
        std::string parts;
        const std::string html =
            page_html(report, [&parts](const PageFile& part) { parts += part.second; });
        EXPECT_LT(html.size(), most_bytes) << length_s << " s";
        const std::string all = html + parts;
        std::size_t blocks = 0;
        for (std::size_t at = 0; (at = all.find("id=\"event-", at)) != std::string::npos; ++at)
            ++blocks;
        for (std::size_t at = 0; (at = all.find("id=\\\"event-", at)) != std::string::npos; ++at)
            ++blocks;
        EXPECT_EQ(blocks, events_shown(report.events));
    }
}

} // namespace
} // namespace lull
