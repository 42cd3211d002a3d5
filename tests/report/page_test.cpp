// SPDX-License-Identifier: GPL-3.0-or-later
#include "fixtures.hpp"
#include "report/page.hpp"
#include "report/report_data.hpp"
#include "report/summary_page.hpp"
#include "report/tables.hpp"

#include <gtest/gtest.h>

#include <utility>

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

Account account_of(const Recording& recording, std::vector<Event> events, double length_s) {
    Account facts;
    facts.provenance = {"lull-review", {}, &recording};
    facts.to_s = length_s;
    facts.events = std::move(events);
    return facts;
}

std::string page_of(const ReportData& report) {
    return page_html(report, [](const PageFile&) {});
}

TEST(Page, TextFromOutsideCannotBecomeMarkup) {
    const test::MadeUp recording;
    const std::string harm = "</script><script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    Account facts = account_of(recording, {event_of(1, EventKind::tapping, 0.9, 10.0)}, 10.0);
    facts.events[0].why = harm;
    facts.log = {{.time_s = 1.0, .person = harm, .action = harm, .channels = {}, .text = harm}};
    facts.judgements = {{.when = harm,
                         .reviewer = harm,
                         .report_digest = "",
                         .onset_s = 1.0,
                         .channel = recording.channels[2].name,
                         .old_kind = "",
                         .judgement = harm,
                         .new_kind = "",
                         .reason = harm,
                         .new_onset_s = {},
                         .new_end_s = {}}};
    const Account account = concluded(std::move(facts), usual_horn_rules(), 0);
    ASSERT_EQ(account.finds.at(0).judgements.size(), 1U) << "the list shows it as judged";
    ReportData report;
    report.account = &account;
    const std::string html = page_of(report);
    EXPECT_EQ(html.find("<script>alert"), std::string::npos);
    EXPECT_EQ(html.find("<img src=x"), std::string::npos);
    EXPECT_NE(html.find("&lt;script&gt;alert(1)"), std::string::npos) << "the text is not shown";
    // Two of its own: the data and the script.
    std::size_t closed = 0;
    for (std::size_t at = 0; (at = html.find("</script", at)) != std::string::npos; ++at)
        ++closed;
    EXPECT_EQ(closed, 2U);
    const std::string summary = summary_html(report);
    EXPECT_EQ(summary.find("<script"), std::string::npos);
    EXPECT_EQ(summary.find("<img src=x"), std::string::npos);
}

/// Text of a section of the page.
std::string section_of(const std::string& html, const std::string& name) {
    const std::size_t from = html.find("<section id=\"" + name + "\"");
    return from == std::string::npos ? "" : html.substr(from, html.find("</section>", from) - from);
}

TEST(Page, TheTeamsOwnHailsStandByThemselves) {
    const test::MadeUp recording;
    Account facts = account_of(recording,
                               {event_of(1, EventKind::tapping, 0.99, 40.0),
                                event_of(2, EventKind::tapping, 0.7, 10.0),
                                event_of(3, EventKind::other, 0.6, 10.0)},
                               10.0);
    facts.events[0].hail = 1;
    facts.hails.resize(1);
    facts.hails[0].number = 1;
    facts.hails[0].events = {1};
    const Account account = concluded(facts, usual_horn_rules(), 0);
    ReportData report;
    report.account = &account;
    report.tables = {hails_table(account.hails, {}, recording)};
    const std::string html = page_of(report);
    const std::string heard = section_of(html, "finds"), hails = section_of(html, "hails");
    EXPECT_NE(heard.find("#find-1\""), std::string::npos) << heard;
    EXPECT_EQ(heard.find("#find-3\""), std::string::npos) << heard;
    EXPECT_NE(hails.find("The team&#39;s own calls"), std::string::npos) << hails;
    EXPECT_NE(html.find("id=\"find-2\""), std::string::npos)
        << "an event of kind other has its own";
    facts.events.resize(1);
    const Account only = concluded(std::move(facts), usual_horn_rules(), 0);
    report.account = &only;
    EXPECT_NE(section_of(page_of(report), "finds").find("No event listed"), std::string::npos);
}

/// A report of many events on `channels` channels, each with sound, pictures, ranks and delays.
Account busy_account(const Recording& recording, double length_s, int events, int channels) {
    Account facts = account_of(recording, {}, length_s);
    for (int n = 1; n <= events; ++n) {
        Event event = event_of(n, EventKind::tapping, 0.9, 10.0);
        event.onset_s = length_s * n / (events + 1);
        event.end_s = event.onset_s + 0.5;
        event.arrivals.resize(static_cast<std::size_t>(channels));
        event.why = std::string(150, 'w');
        for (int a = 0; a < channels; ++a) {
            event.arrivals[static_cast<std::size_t>(a)].channel = a % 3;
            RankRow rank;
            rank.event = n;
            rank.channel = a % 3;
            rank.rank = a + 1;
            rank.peak_energy_db = -30.0 - a;
            rank.level_unit = "dB re full scale";
            facts.ranking.push_back(rank);
            for (int b = a + 1; b < channels; ++b)
                facts.delays.push_back({n,
                                        a % 3,
                                        b % 3,
                                        0.001,
                                        0.0001,
                                        0.0,
                                        0.9,
                                        true,
                                        "",
                                        DelayMethod::waveform,
                                        {}});
        }
        facts.events.push_back(event);
    }
    return concluded(std::move(facts), usual_horn_rules(), 0);
}

ReportData busy_report(const Account& account, int channels) {
    ReportData report;
    report.account = &account;
    // As noisy as a waveform of sixteen steps can be, and as large as a spectrogram comes out.
    WaveShape wave;
    for (int i = 0; i < waveform_columns; ++i) {
        wave.low.push_back(static_cast<std::int8_t>(-(i * 7 % 17)));
        wave.high.push_back(static_cast<std::int8_t>(i * 5 % 17));
    }
    for (std::size_t k = 0; k < finds_shown(account.finds); ++k) {
        FindPicture picture;
        picture.find = account.finds[k].number;
        picture.channel = 2;
        picture.from_s = account.finds[k].from_s;
        picture.png = std::string(8000, 'x');
        picture.small_png = std::string(1200, 'x');
        for (int a = 0; a < channels; ++a)
            picture.waves.emplace_back(a % 3, wave);
        report.pictures.push_back(picture);
        report.sounds.push_back({0.0, 1.0, {0, 1, 2}, "excerpts/sound-001.js", true});
        if (k % 20 == 0)
            report.places.push_back(
                {std::to_string(account.finds[k].best), "evidence", std::string(40000, 'm')});
    }
    for (int c = 0; c < channels; ++c)
        report.overview.push_back({0.0, account.to_s, 4000.0, std::string(70000, 'x')});
    return report;
}

/// Of a night, and of two minutes in which a hundred times too much was found.
TEST(Page, StaysSmallWhateverWasFoundAndLosesNoFind) {
    const test::MadeUp recording;
    const struct {
        double length_s;
        int events;
        std::size_t most_bytes;
    } cases[] = {{12.0 * 3600.0, 5000, 10000000},
                 {120.0, 300, 3100000}}; // of that the overviews and small pictures take 1 MB
    for (const auto& [length_s, events, most_bytes] : cases) {
        const Account account = busy_account(recording, length_s, events, 6);
        const ReportData report = busy_report(account, 6);
        std::string parts;
        const std::string html =
            page_html(report, [&parts](const PageFile& part) { parts += part.second; });
        EXPECT_LT(html.size(), most_bytes) << length_s << " s";
        const std::string all = html + parts;
        std::size_t blocks = 0;
        for (std::size_t at = 0; (at = all.find("id=\"find-", at)) != std::string::npos; ++at)
            ++blocks;
        for (std::size_t at = 0; (at = all.find("id=\\\"find-", at)) != std::string::npos; ++at)
            ++blocks;
        EXPECT_EQ(blocks, finds_shown(account.finds));
    }
}

} // namespace
} // namespace lull
