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
#include <set>

namespace lull {
namespace {

namespace fs = std::filesystem;

/// run.log of a folder with one file that holds "text".
std::string log_of(const std::string& name, const std::string& runs) {
    const std::string sums = sha256_of_text("text") + "  " + name + "\n";
    return "Folder written by lull-review\nSHA256SUMS: " + sha256_of_text(sums) + "\n" + runs;
}

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
    EXPECT_EQ(folder.read("out/run.log"), log_of("two.csv", "run\nrun\n"));
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
    EXPECT_EQ(folder.read("out/run.log"), log_of("one.csv", "run\n"));
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

/// Writes out/ with these files, as a whole run does.
void write_out(const test::Folder& folder, const std::vector<std::string>& names,
               const std::string& text = "text") {
    OutputFolder out(folder.at("out"), "lull-review", {});
    for (const std::string& name : names)
        out.write(name, text);
    out.publish("run");
}

std::set<std::string> names_in(const std::string& folder) {
    std::set<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        names.insert(entry.path().lexically_relative(folder).generic_string());
    return names;
}

TEST(OutputFolder, CarriesWhatItDidNotWrite) {
    const test::Folder folder;
    write_out(folder, {"READ-FIRST.txt", "events.csv", "old/stale.csv"});
    folder.write("out/judgements.csv", "mine");
    fs::create_directories(folder.at("out/notes/deep/empty"));
    folder.write("out/notes/deep/a b.txt", "mine");
    folder.write("out/old/beside.txt", "mine");
    fs::create_symlink("../elsewhere", folder.at("out/link"));
    fs::permissions(folder.at("out/notes"), fs::perms::owner_all);
    write_out(folder, {"READ-FIRST.txt", "events.csv"}, "new");
    EXPECT_EQ(names_in(folder.at("out")),
              (std::set<std::string>{"READ-FIRST.txt", "SHA256SUMS", "events.csv", "judgements.csv",
                                     "link", "notes", "notes/deep", "notes/deep/a b.txt",
                                     "notes/deep/empty", "old", "old/beside.txt", "run.log"}));
    EXPECT_EQ(folder.read("out/judgements.csv"), "mine");
    EXPECT_EQ(folder.read("out/old/beside.txt"), "mine");
    EXPECT_EQ(fs::read_symlink(folder.at("out/link")), "../elsewhere");
    EXPECT_EQ(fs::status(folder.at("out/notes")).permissions(), fs::perms::owner_all);
    const std::string first = folder.read("out/READ-FIRST.txt");
    EXPECT_TRUE(first.starts_with("new\n")) << first;
    for (const char* name : {"judgements.csv", "link", "notes/deep/a b.txt", "old/beside.txt"})
        EXPECT_NE(first.find(std::string("\n  ") + name + "\n"), std::string::npos) << name;
    const std::string sums = folder.read("out/SHA256SUMS");
    EXPECT_EQ(sums.find("judgements"), std::string::npos);
    EXPECT_NE(sums.find(sha256_of_text(first) + "  READ-FIRST.txt\n"), std::string::npos);
    EXPECT_EQ(names_in(folder.at(".")).count("out"), 1U);
    EXPECT_EQ(std::distance(fs::directory_iterator(folder.at(".")), fs::directory_iterator()), 1);
}

TEST(OutputFolder, ListsWhatItCarriesWhereThereIsNoReadFirst) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    folder.write("out/READ-FIRST.txt", "mine");
    write_out(folder, {"one.csv"});
    EXPECT_EQ(folder.read("out/READ-FIRST-kept.txt"), "mine");
    EXPECT_NE(folder.read("out/READ-FIRST.txt").find("  READ-FIRST-kept.txt: was READ-FIRST.txt"),
              std::string::npos);
}

TEST(OutputFolder, KeepsWhatWasChangedUnderAnotherName) {
    const test::Folder folder;
    write_out(folder, {"READ-FIRST.txt", "events.csv", "gone.csv"});
    folder.write("out/events.csv", "text, with a remark");
    folder.write("out/gone.csv", "another remark");
    write_out(folder, {"READ-FIRST.txt", "events.csv"});
    EXPECT_EQ(folder.read("out/events.csv"), "text");
    EXPECT_EQ(folder.read("out/events-kept.csv"), "text, with a remark");
    EXPECT_EQ(folder.read("out/gone-kept.csv"), "another remark");
    EXPECT_NE(folder.read("out/READ-FIRST.txt")
                  .find("  events-kept.csv: events.csv as somebody changed it\n"),
              std::string::npos);
    folder.write("out/events.csv", "a second remark");
    write_out(folder, {"READ-FIRST.txt", "events.csv"});
    EXPECT_EQ(folder.read("out/events-kept.csv"), "text, with a remark");
    EXPECT_EQ(folder.read("out/events-kept-2.csv"), "a second remark");
}

TEST(OutputFolder, NewFilesGoBeforeThoseOfTheUser) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    folder.write("out/night.csv", "mine");
    folder.write("out/maps", "a file where a folder comes");
    fs::create_directory(folder.at("out/page"));
    folder.write("out/page/a.txt", "a folder where a file comes");
    write_out(folder, {"night.csv", "maps/one.svg", "page"});
    EXPECT_EQ(folder.read("out/night.csv"), "text");
    EXPECT_EQ(folder.read("out/night-kept.csv"), "mine");
    EXPECT_EQ(folder.read("out/maps-kept"), "a file where a folder comes");
    EXPECT_EQ(folder.read("out/page-kept/a.txt"), "a folder where a file comes");
}

TEST(OutputFolder, LosesNothingWhenDigestsWereEdited) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    folder.write("out/mine.csv", "mine");
    const std::string sums =
        folder.read("out/SHA256SUMS") + sha256_of_text("mine") + "  mine.csv\n";
    folder.write("out/SHA256SUMS", sums);
    write_out(folder, {"one.csv"}, "new");
    EXPECT_EQ(folder.read("out/mine.csv"), "mine");
    EXPECT_EQ(folder.read("out/SHA256SUMS-kept"), sums);
    EXPECT_EQ(folder.read("out/one-kept.csv"), "text");
    EXPECT_EQ(folder.read("out/one.csv"), "new");
}

TEST(OutputFolder, ReadsFilesOfTheUsersInItButNoneThatItReplaces) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    folder.write("out/judgements.csv", "mine");
    const std::vector<std::string> mine{folder.at("out/judgements.csv")};
    EXPECT_NO_THROW(OutputFolder(folder.at("out"), "lull-review", mine));
    for (const char* name : {"out/one.csv", "out/run.log", "out/../out/one.csv", "out"}) {
        const std::vector<std::string> replaced{folder.at(name)};
        EXPECT_THROW(OutputFolder(folder.at("out"), "lull-review", replaced), Error) << name;
    }
}

TEST(OutputFolder, CarriesWhatCameWhileItGrew) {
    const test::Folder folder;
    {
        OutputFolder out(folder.at("out"), "lull-review", {});
        folder.write("out/early.txt", "mine");
        out.publish_unfinished("run", "more to come");
        folder.write("out/late.txt", "mine too");
        out.write("one.csv", "text");
        out.publish("run");
    }
    EXPECT_EQ(folder.read("out/early.txt"), "mine");
    EXPECT_EQ(folder.read("out/late.txt"), "mine too");
    EXPECT_EQ(names_in(folder.at(".")).count("out/UNFINISHED.txt"), 0U);
}

TEST(OutputFolder, SharesNothingThatItDidNotWrite) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    folder.write("out/judgements.csv", "by somebody with a name");
    {
        OutputFolder out(folder.at("out"), "lull-review", {});
        EXPECT_THROW(out.share(), Error);
    }
    EXPECT_EQ(folder.read("out/judgements.csv"), "by somebody with a name");
    fs::remove(folder.at("out/judgements.csv"));
    OutputFolder out(folder.at("out"), "lull-review", {});
    out.share();
    folder.write("out/late.csv", "it comes after that");
    EXPECT_THROW(out.publish("run"), Error);
    fs::remove(folder.at("out/late.csv"));
    out.publish("run");
    EXPECT_EQ(folder.read("out/run.log").find("run\nrun\n"), std::string::npos);
}

/// What a kill leaves: before the new folder has its name, between the two renames of a file system
/// that cannot exchange names, and before the earlier folder is removed.
TEST(OutputFolder, RecoversWhatAKilledRunLeft) {
    for (const char* left : {".out.part-1", "out.earlier-1", "out.earlier-1 alone"}) {
        const test::Folder folder;
        const bool alone = std::string(left).ends_with(" alone");
        const std::string beside = folder.at(alone ? "out.earlier-1" : left);
        write_out(folder, {"one.csv", "sounds/two.csv"});
        folder.write("out/mine.txt", "mine");
        folder.write("out/one.csv", "mine too");
        fs::rename(folder.at("out"), beside);
        if (!alone) {
            write_out(folder, {"one.csv"}, "newer");
            if (!fs::exists(beside)) // the run above took it for what a kill left
                fs::copy(folder.at("out"), beside, fs::copy_options::recursive);
            for (const char* name : {"mine.txt", "one-kept.csv"})
                fs::remove(folder.at("out") + "/" + name);
        }
        write_out(folder, {"one.csv"}, "newest");
        EXPECT_EQ(folder.read("out/one.csv"), "newest") << left;
        EXPECT_EQ(folder.read("out/mine.txt"), "mine") << left;
        EXPECT_EQ(folder.read("out/one-kept.csv"), "mine too") << left;
        EXPECT_EQ(std::distance(fs::directory_iterator(folder.at(".")), fs::directory_iterator()),
                  1)
            << left;
    }
}

TEST(OutputFolder, LeavesFoldersOfOthersThatOnlyLookLikeItsOwn) {
    const test::Folder folder;
    write_out(folder, {"one.csv"});
    fs::create_directory(folder.at("out.earlier-2"));
    folder.write("out.earlier-2/letter.txt", "mine");
    folder.write("out.earlier-2/run.log", "mine too");
    for (const char* name : {"out.earlier-3", "out.earlier-spring"}) {
        fs::create_directory(folder.at(name));
        folder.write(std::string(name) + "/letter.txt", "mine");
    }
    write_out(folder, {"one.csv"});
    for (const char* name : {"out.earlier-2", "out.earlier-3", "out.earlier-spring"})
        EXPECT_EQ(folder.read(std::string(name) + "/letter.txt"), "mine") << name;
}

TEST(OutputFolder, TakesNoLinkForItsLock) {
    const test::Folder folder;
    fs::create_symlink("victim", folder.at(".out.lock"));
    EXPECT_THROW(OutputFolder(folder.at("out"), "lull-review", {}), Error);
    EXPECT_FALSE(fs::exists(folder.at("victim")));
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

TEST(Page, WhereNothingIsListedItSaysSoAndNeverClear) {
    test::MadeUp recording;
    recording.session.label = "<img src=x onerror=alert(1)>";
    Account facts;
    facts.provenance = {"lull-review", {}, &recording};
    facts.to_s = 10.0;
    const Account account = concluded(std::move(facts), usual_horn_rules(), 0);
    ReportData report;
    report.account = &account;
    const std::string page = page_of(report);
    EXPECT_NE(page.find(no_event_text), std::string::npos);
    EXPECT_NE(page.find(caution_text), std::string::npos);
    EXPECT_EQ(page.find("<img src=x"), std::string::npos);
    EXPECT_EQ(page, page_of(report));
}

TEST(ReadFirst, ListsEveryFileWithSound) {
    const test::MadeUp recording;
    const std::vector<std::string> sounds{"excerpts/event-001-mix.flac"};
    EXPECT_NE(read_first_text(recording, sounds).find(sounds[0]), std::string::npos);
}

} // namespace
} // namespace lull
