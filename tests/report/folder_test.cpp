// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/excerpt.hpp"
#include "report/folder.hpp"
#include "report/page.hpp"
#include "report/read_first.hpp"

#include "error.hpp"
#include "fixtures.hpp"
#include "recording/digest.hpp"
#include "recording/recording.hpp"
#include "report/caution.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace lull {
namespace {

namespace fs = std::filesystem;

TEST(OutputFolder, ReplacesItsOwnWholeAndRefusesOthers) {
    const test::Folder folder;
    for (const char* name : {"one.csv", "two.csv"}) {
        OutputFolder out(folder.at("out/"), "lull-review", {});
        out.write(name, "text");
        EXPECT_FALSE(fs::exists(folder.at(std::string("out/") + name)));
        out.publish("run");
    }
    EXPECT_FALSE(fs::exists(folder.at("out/one.csv")));
    EXPECT_EQ(folder.read("out/SHA256SUMS"), sha256_of_text("text") + "  two.csv\n");
    EXPECT_EQ(folder.read("out/run.log"), "Folder written by lull-review\nrun\nrun\n");
    EXPECT_THROW(OutputFolder(folder.at("out"), "lull-grade", {}), Error);
    const std::vector<std::string> inputs{folder.at("out/two.csv")};
    EXPECT_THROW(OutputFolder(folder.at("out"), "lull-review", inputs), Error);
    fs::create_directory(folder.at("mine"));
    folder.write("mine/letter.txt", "keep me");
    EXPECT_THROW(OutputFolder(folder.at("mine"), "lull-review", {}), Error);
    EXPECT_EQ(folder.read("mine/letter.txt"), "keep me");
    EXPECT_THROW(OutputFolder(folder.at("no/such"), "lull-review", {}), Error);
}

TEST(OutputFolder, NothingStaysWithoutPublish) {
    const test::Folder folder;
    { OutputFolder(folder.at("out"), "lull-review", {}).write("a/b.csv", "text"); }
    EXPECT_TRUE(fs::is_empty(folder.at(".")));
}

TEST(OutputFolder, SaysThatItIsUnfinishedUntilItIsWhole) {
    const test::Folder folder;
    {
        OutputFolder out(folder.at("out"), "lull-review", {});
        EXPECT_NE(folder.read("out/UNFINISHED.txt").find("has not finished"), std::string::npos);
        out.leave_unfinished();
    }
    EXPECT_TRUE(fs::exists(folder.at("out/UNFINISHED.txt")));
    {
        OutputFolder out(folder.at("out"), "lull-review", {});
        out.write("one.csv", "text");
        out.publish("run");
    }
    EXPECT_FALSE(fs::exists(folder.at("out/UNFINISHED.txt")));
    { // an earlier result is marked while it is being replaced, and is what it was when that fails
        const OutputFolder out(folder.at("out"), "lull-review", {});
        EXPECT_NE(folder.read("out/UNFINISHED.txt").find("from an earlier run"), std::string::npos);
        EXPECT_EQ(folder.read("out/one.csv"), "text");
    }
    EXPECT_FALSE(fs::exists(folder.at("out/UNFINISHED.txt")));
    EXPECT_EQ(folder.read("out/run.log"), "Folder written by lull-review\nrun\n");
}

TEST(OutputFolder, IsWrittenByOneAtATime) {
    const test::Folder folder;
    {
        const OutputFolder first(folder.at("out"), "lull-review", {});
        try {
            const OutputFolder second(folder.at("./out/"), "lull-review", {});
            ADD_FAILURE() << "two runs write one folder";
        } catch (const Error& error) {
            EXPECT_EQ(error.kind, ErrorKind::output);
            EXPECT_NE(error.fault.find("another run"), std::string::npos) << error.what();
        }
        EXPECT_TRUE(fs::exists(folder.at("out/UNFINISHED.txt"))) << "the first is not disturbed";
    }
    EXPECT_TRUE(fs::is_empty(folder.at(".")));
    folder.write(".out.lock", ""); // as a killed run leaves it
    { const OutputFolder again(folder.at("out"), "lull-review", {}); }
    EXPECT_TRUE(fs::is_empty(folder.at(".")));
}

class Excerpts : public testing::Test {
  protected:
    Excerpts() {
        block_.channels = 3;
        block_.frames = recording_.frames;
        block_.samples.assign(static_cast<std::size_t>(3 * block_.frames), 0.0F);
        for (Frame n = 0; n < block_.frames; ++n) {
            const double sine = std::sin(0.3 * static_cast<double>(n));
            block_.channel(0)[static_cast<std::size_t>(n)] = static_cast<float>(0.9 * sine + 0.05);
            block_.channel(1)[static_cast<std::size_t>(n)] = static_cast<float>(0.09 * sine);
        }
    }
    const Block& stretch(Frame first, Frame count) {
        cut_.first = first;
        cut_.frames = std::min(count, block_.frames - first);
        cut_.channels = 3;
        cut_.samples.clear();
        for (int c = 0; c < 3; ++c) {
            const auto from = block_.channel(c).subspan(static_cast<std::size_t>(first),
                                                        static_cast<std::size_t>(cut_.frames));
            cut_.samples.insert(cut_.samples.end(), from.begin(), from.end());
        }
        return cut_;
    }
    test::MadeUp recording_;
    Block block_, cut_;
};

TEST_F(Excerpts, ArePlayedAtASafeLevelAndKeepTheDifferenceBetweenTheEars) {
    const test::Folder folder;
    const ExcerptRules rules{.ending = ".wav"};
    const ExcerptRequest request{3, 2.0, 3.0, ExcerptKind::pair, {0, 1}};
    const std::string name = excerpt_name(request, rules, recording_);
    EXPECT_EQ(name, "event-003-stairwell-north-slab.wav");
    const auto get = [&](Frame first, Frame count) -> const Block& {
        return stretch(first, count);
    };
    const Excerpt made = write_excerpt(recording_, get, request, rules, folder.at(name));
    EXPECT_NEAR(made.gain_db, -6.0 - 20.0 * std::log10(0.9), 0.01);
    const auto read = open_recording(folder.at(name), {});
    Block heard;
    read->open()->read(0, read->frames, heard);
    ASSERT_EQ(heard.frames, 28000); // 1 s before, 1 s of event, 1.5 s after
    float left = 0.0F, right = 0.0F;
    for (const float x : heard.channel(0))
        left = std::max(left, std::abs(x));
    for (const float x : heard.channel(1))
        right = std::max(right, std::abs(x));
    EXPECT_NEAR(left, std::pow(10.0, -6.0 / 20.0), 1e-3);
    EXPECT_NEAR(left / right, 10.0, 0.01);
    EXPECT_LT(std::abs(heard.channel(0)[0]), 1e-3); // faded in
}

TEST_F(Excerpts, SilenceStaysSilence) {
    const test::Folder folder;
    const auto get = [&](Frame first, Frame count) -> const Block& {
        return stretch(first, count);
    };
    const ExcerptRequest request{1, 0.0, 0.0, ExcerptKind::channel, {2}};
    EXPECT_EQ(write_excerpt(recording_, get, request, {}, folder.at("a.flac")).gain_db, 0.0);
}

std::string page_of(const ReportData& report) {
    return page_html(report, [](const PageFile&) {});
}

TEST(Page, EscapesWhatComesFromOutsideAndNeverSaysClear) {
    test::MadeUp recording;
    recording.session.label = "<img src=x onerror=alert(1)>";
    ReportData report;
    report.provenance = {"lull-review", {}, &recording};
    report.to_s = 10.0;
    std::string page = page_of(report);
    EXPECT_NE(page.find(no_event_text), std::string::npos);
    EXPECT_NE(page.find(caution_text), std::string::npos);
    EXPECT_EQ(page.find("<img src=x"), std::string::npos);

    Event event;
    event.number = 1;
    event.strongest = 2;
    event.why = "</p><script>alert(2)</script>";
    event.arrivals.emplace_back().channel = 2;
    report.events.push_back(event);
    report.courses.push_back(
        {recording.channels[2].name, 0.0, 1.0, {0.0F, 3.0F, NAN, 50.0F, 1.0F}});
    report.excerpts.push_back({.file = "event-001-x.flac", .event = 1, .channels = {2}});
    page = page_of(report);
    EXPECT_EQ(page.find("<script>alert"), std::string::npos);
    EXPECT_NE(page.find("&lt;script&gt;"), std::string::npos);
    EXPECT_NE(page.find("src=\"excerpts/event-001-x.flac\""), std::string::npos);
    EXPECT_EQ(page, page_of(report));
}

TEST(ReadFirst, ListsEveryFileWithSound) {
    const test::MadeUp recording;
    const std::vector<std::string> sounds{"excerpts/event-001-mix.flac"};
    EXPECT_NE(read_first_text(recording, sounds).find(sounds[0]), std::string::npos);
}

} // namespace
} // namespace lull
