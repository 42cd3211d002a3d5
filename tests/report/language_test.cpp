// SPDX-License-Identifier: GPL-3.0-or-later
#include "fixtures.hpp"
#include "report/caution.hpp"
#include "report/language.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

/// The page's English is that of every other report.
TEST(Language, EnglishSaysTheFixedWords) {
    const Language& say = Language::english();
    EXPECT_EQ(say["caution_text"], caution_text);
    EXPECT_EQ(say["none_heard"], no_event_text);
    EXPECT_EQ(say["exercise"], exercise_text);
    EXPECT_TRUE(say.untranslated().empty());
}

TEST(Language, PlacesAreFilledOnceAndOthersStay) {
    const Language& say = Language::english();
    EXPECT_EQ(say.filled("excerpt", {{"channels", "{gain}"}, {"gain", "3"}}), "{gain} (gain 3 dB)");
    EXPECT_EQ(say.column("onset_s"), "Onset, s");
    EXPECT_EQ(say.column("not a column"), "not a column");
    EXPECT_EQ(say.value("not a value"), "not a value");
}

TEST(Language, ATranslationMayLeaveOut) {
    const test::Folder folder;
    const Language say = read_language(folder.write(
        "words.json", R"({"format":"lull-language","version":1,"code":"x","page":{"heard":"Q"}})"));
    EXPECT_EQ(say["heard"], "Q");
    EXPECT_EQ(say["details"], Language::english()["details"]);
    EXPECT_FALSE(say.untranslated().empty());
    EXPECT_EQ(say.code(), "x");
}

/// Sentences of the analysis are known again by their patterns, whatever they are joined to.
TEST(Language, SaysWhatTheAnalysisFoundInItsOwnWords) {
    const test::Folder folder;
    const Language say = read_language(folder.write("words.json", R"({
        "format":"lull-language","version":1,"code":"x","phrases":{
            "impulse":"[{level}|{until}|{decay}|{rise}]","to_floor":"F","level_in_band":"{band}:{level}",
            "on_channels":"C{count}/{within}","sustained":"L{length} <{pitch}>","no_pitch":"none",
            "modulation":"{pitch} M{share}","f_clipping":"K","f_dead":"D",
            "arrivals_agree_but":"{agreeing}/{all} {odd}","arrival_late":"{channel}+{by}~{sigmas}",
            "arrival_early":"{channel}-{by}~{sigmas}"
}
})"));
    EXPECT_EQ(
        say.phrase("rise 3 ms, decay 40 ms to the floor, 21 dB over the floor in 60-250 Hz; on 4 "
                   "channels within 12 ms"),
        "[60-250:21|F|40|3]; C4/12");
    EXPECT_EQ(say.phrase("rise 3 ms, decay 40 ms to -20 dB, 21 dB over the floor in 60-250 Hz"),
              "[60-250:21|-20 dB|40|3]");
    EXPECT_EQ(say.phrase("lasts 2.5 s, no steady pitch, 30 % of its modulation at 2-8 Hz"),
              "L2.5 <none> M30");
    EXPECT_EQ(say.phrase("dead; clipping"), "D; K");
    EXPECT_EQ(
        say.phrase("3 of 5 arrivals agree, not a 1.00 ms late (4.0 sigma), b 2.00 ms early (3.5 "
                   "sigma)"),
        "3/5 a+1.00~4.0, b-2.00~3.5");
    EXPECT_EQ(say.phrase("something nobody foresaw; dead"), "something nobody foresaw; D");
    EXPECT_EQ(say.phrase(""), "");
    EXPECT_EQ(Language::english().phrase("dead; clipping"), "dead; clipping");
}

} // namespace
} // namespace lull
