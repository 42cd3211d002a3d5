// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/disclosure.hpp"
#include "error.hpp"
#include "fixtures.hpp"
#include "recording/start_time.hpp"
#include "report/read_tables.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(Disclosure, WithheldStretchesHaveNeitherSoundNorPicture) {
    Disclosure disclosure;
    disclosure.withheld = {{10.0, 20.0}};
    EXPECT_TRUE(disclosure.may_hear(5.0, 10.0)) << "up to its start";
    EXPECT_FALSE(disclosure.may_hear(5.0, 10.1));
    EXPECT_FALSE(disclosure.may_hear(12.0, 13.0));
    EXPECT_FALSE(disclosure.may_see(19.9, 30.0));
    EXPECT_TRUE(disclosure.may_see(20.0, 30.0));
}

TEST(Disclosure, WithoutSoundNoPictureOfAVoice) {
    Disclosure disclosure;
    Event voice;
    voice.kind = EventKind::voice_like;
    voice.onset_s = 0.5;
    voice.end_s = 2.0;
    disclosure.voices = voices_in({voice, Event{}});
    EXPECT_TRUE(disclosure.may_see(0.0, 1.0)) << "sound may be handed on, and pictures with it";
    disclosure.sound = false;
    EXPECT_FALSE(disclosure.may_hear(0.0, 1.0));
    EXPECT_FALSE(disclosure.may_see(0.0, 1.0)) << "a picture of what else was heard then";
    EXPECT_TRUE(disclosure.may_see(2.0, 3.0));
}

TEST(Disclosure, NamesOfFilesGoFromNoticesToo) {
    test::MadeUp recording; // of "a.wav"
    recording.session.label = "Mill Lane";
    recording.session.exhibit = "X 12";
    recording.notices = {{"a.wav", "overlaps with a.wav.bak on stairwell", false},
                         {"a.wav.bak", "skipped: is covered by a.wav", true}};
    hide_details(recording);
    EXPECT_EQ(recording.inputs[0].label, "input 1");
    EXPECT_EQ(recording.notices[0].file, "input 1");
    EXPECT_EQ(recording.notices[0].text, "overlaps with other file 1 on channel 1");
    EXPECT_EQ(recording.channels[2].name, "channel 3");
    EXPECT_EQ(recording.session.channels[2].name, "channel 3");
    EXPECT_EQ(recording.session.label + recording.session.exhibit, "");
    EXPECT_EQ(recording.notices[1].file, "other file 1");
    EXPECT_EQ(recording.notices[1].text, "skipped: is covered by input 1");
}

TEST(Disclosure, AStretchUpsideDownIsRefusedWithItsLine) {
    const test::Folder folder;
    const std::string file = folder.at("withheld.csv");
    std::ofstream(file) << "from_s,to_s\n1,2\n5,4\n";
    try {
        (void)read_withheld(file, unknown_start());
        FAIL() << "was taken";
    } catch (const Error& error) {
        EXPECT_NE(error.place.find("3"), std::string::npos) << error.place;
    }
    std::ofstream(file) << "from_s,to_s\n1,2\n";
    EXPECT_EQ(read_withheld(file, unknown_start()).size(), 1U);
}

TEST(Withheld, TimesAreWrittenInAnyForm) {
    const test::Folder folder;
    StartTime start = unknown_start();
    const auto spans =
        read_withheld(folder.write("w.csv", "from_s;to_s\n1,5;2\n13:35.0;1:02:03.5\n"), start);
    ASSERT_EQ(spans.size(), 2U);
    EXPECT_EQ(spans[0].from_s, 1.5);
    EXPECT_EQ(spans[1].from_s, 815.0);
    EXPECT_EQ(spans[1].to_s, 3723.5);
    const std::string clock = folder.write("w.csv", "from_s,to_s\n22:00:05,2026-03-14T22:01:00\n");
    EXPECT_THROW((void)read_withheld(clock, start), Error) << "no start is known";
    start = start_of(*parse_iso8601("2026-03-14T22:00:00"), "", "session");
    EXPECT_EQ(read_withheld(clock, start).at(0).to_s, 60.0);
}
} // namespace
} // namespace lull
