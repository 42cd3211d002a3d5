// SPDX-License-Identifier: GPL-3.0-or-later
#include "fixtures.hpp"
#include "report/page.hpp"
#include "report/report_data.hpp"

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
                          .reason = harm}};
    const std::string html = page_html(report);
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

} // namespace
} // namespace lull
