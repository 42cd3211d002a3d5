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

} // namespace
} // namespace lull
