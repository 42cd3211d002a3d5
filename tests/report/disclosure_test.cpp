// SPDX-License-Identifier: GPL-3.0-or-later
#include "error.hpp"
#include "fixtures.hpp"
#include "report/disclosure.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(Disclosure, WithheldStretchesHaveNeitherSoundNorPicture) {
    Disclosure disclosure;
    disclosure.withheld = {{10.0, 20.0}};
    EXPECT_TRUE(disclosure.may_hear(5.0, 10.0)) << "up to its start";
    EXPECT_FALSE(disclosure.may_hear(5.0, 10.1));
    EXPECT_FALSE(disclosure.may_hear(12.0, 13.0));
    EXPECT_FALSE(disclosure.may_see(EventKind::tapping, 19.9, 30.0));
    EXPECT_TRUE(disclosure.may_see(EventKind::tapping, 20.0, 30.0));
}

TEST(Disclosure, WithoutSoundNoPictureOfAVoice) {
    Disclosure disclosure;
    disclosure.sound = false;
    EXPECT_FALSE(disclosure.may_hear(0.0, 1.0));
    EXPECT_FALSE(disclosure.may_see(EventKind::voice_like, 0.0, 1.0));
    EXPECT_TRUE(disclosure.may_see(EventKind::tapping, 0.0, 1.0));
}

TEST(Disclosure, NamesOfFilesGoFromNoticesToo) {
    test::MadeUp recording; // of "a.wav"
    recording.notices = {{"a.wav", "overlaps with a.wav.bak", false},
                         {"a.wav.bak", "skipped: is covered by a.wav", true}};
    hide_details(recording);
    EXPECT_EQ(recording.inputs[0].label, "input 1");
    EXPECT_EQ(recording.notices[0].file, "input 1");
    EXPECT_EQ(recording.notices[0].text, "overlaps with other file 1");
    EXPECT_EQ(recording.notices[1].file, "other file 1");
    EXPECT_EQ(recording.notices[1].text, "skipped: is covered by input 1");
}

TEST(Disclosure, AStretchUpsideDownIsRefusedWithItsLine) {
    const test::Folder folder;
    const std::string file = folder.at("withheld.csv");
    std::ofstream(file) << "from_s,to_s\n1,2\n5,4\n";
    try {
        (void)read_withheld(file);
        FAIL() << "was taken";
    } catch (const Error& error) {
        EXPECT_NE(error.place.find("3"), std::string::npos) << error.place;
    }
    std::ofstream(file) << "from_s,to_s\n1,2\n";
    EXPECT_EQ(read_withheld(file).size(), 1U);
}

} // namespace
} // namespace lull
