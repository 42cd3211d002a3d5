// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/helpers.hpp"

#include <cmath>
#include <limits>

namespace lull::test {
namespace {

TEST(BadInput, FilesThatAreNoAudioAreRefused) {
    const Folder folder;
    expect_bad_input(folder / "gone.wav", {"gone.wav", "No such file or directory"});
    std::filesystem::create_directory(folder / "sub.wav");
    expect_bad_input(folder / "sub.wav", {"sub.wav", "is a folder"});
    write_bytes(folder / "letter.wav", "Dear all,\nthis is a letter and no recording.\n");
    expect_bad_input(folder / "letter.wav", {"letter.wav", "cannot be read as audio"});
    write_bytes(folder / "empty.wav", "");
    expect_bad_input(folder / "empty.wav", {"empty.wav", "is empty"});
}

TEST(BadInput, HeaderCutOffAnywhere) {
    const Folder folder;
    ASSERT_TRUE(write_audio(folder / "whole.wav", wav16, 2, 16000, noise(100, 2, 1)));
    const std::string whole = bytes_of(folder / "whole.wav");
    for (std::size_t size = 1; size <= 44; ++size) {
        write_bytes(folder / "a.wav", whole.substr(0, size));
        expect_bad_input(folder / "a.wav", {"a.wav"});
    }
}

TEST(BadInput, EmptyHeaderIsRefused) {
    const Folder folder;
    const std::string data(3200, '\1');
    write_bytes(folder / "a.wav", wav_header(0, 16000, 16, data.size()) + data);
    expect_bad_input(folder / "a.wav", {"a.wav"});
    write_bytes(folder / "a.wav", wav_header(1, 0, 16, data.size()) + data);
    expect_bad_input(folder / "a.wav", {"a.wav"});
    write_bytes(folder / "a.wav", wav_header(1, 16000, 16, 0));
    expect_bad_input(folder / "a.wav", {"a.wav", "0 frames"});
}

TEST(BadInput, DataChunkPromisesTenTimesWhatIsThere) {
    const Folder folder;
    for (const int bits : {16, 24}) {
        const std::string data(static_cast<std::size_t>(2 * bits / 8 * 1000), '\3');
        write_bytes(folder / "a.wav", wav_header(2, 16000, bits, 10 * data.size()) + data);
        const auto recording = open_recording(folder / "a.wav", {});
        EXPECT_EQ(recording->frames, 1000);
        EXPECT_EQ(recording->inputs[0].frames_promised, 10000);
        EXPECT_TRUE(recording->inputs[0].cut_short);
        ASSERT_EQ(recording->notices.size(), 1U);
        EXPECT_TRUE(recording->notices[0].degraded);
        EXPECT_TRUE(told(*recording, "10000 frames promised, 1000 frames read"));
        EXPECT_EQ(read_all(*recording).frames, 1000);
    }
}

TEST(BadInput, CutOffInMidFrame) {
    const Folder folder;
    ASSERT_TRUE(write_audio(folder / "whole.wav", wav24, 3, 16000, noise(1000, 3, 1)));
    const Block whole = read_all(*open_recording(folder / "whole.wav", {}));
    const std::string bytes = bytes_of(folder / "whole.wav");
    for (int less = 1; less <= 18; ++less) {
        write_bytes(folder / "a.wav",
                    bytes.substr(0, bytes.size() - static_cast<std::size_t>(less)));
        const auto recording = open_recording(folder / "a.wav", {});
        EXPECT_EQ(recording->frames, 1000 - (less + 8) / 9);
        EXPECT_TRUE(recording->inputs[0].cut_short);
        const Block block = read_all(*recording);
        for (int c = 0; c < 3; ++c)
            EXPECT_TRUE(std::equal(block.channel(c).begin(), block.channel(c).end(),
                                   whole.channel(c).begin()));
    }
}

TEST(BadInput, SizesOfZeroOrAllOnesMeanUnknown) {
    const Folder folder;
    const std::string data(4 * 500, '\2');
    for (const std::uint64_t size : {std::uint64_t{0}, std::uint64_t{0xFFFFFFFF}}) {
        write_bytes(folder / "a.wav", wav_header(2, 16000, 16, size) + data);
        const auto recording = open_recording(folder / "a.wav", {});
        EXPECT_EQ(recording->frames, 500);
        EXPECT_FALSE(recording->inputs[0].frames_promised);
        EXPECT_FALSE(recording->inputs[0].cut_short);
        EXPECT_TRUE(told(*recording, "does not say how long it is; 500 frames"));
        EXPECT_FALSE(recording->notices[0].degraded);
    }
    write_bytes(folder / "a.wav", wav_header(2, 16000, 16, 0xFFFFFFFF) + data + "x");
    const auto recording = open_recording(folder / "a.wav", {});
    EXPECT_EQ(recording->frames, 500);
    EXPECT_TRUE(recording->inputs[0].cut_short);
    EXPECT_TRUE(told(*recording, "within a frame: 500 whole frames"));
}

/// The place of the size in each kind of header, and its values for "unknown".
struct Place {
    int format;
    const char* name;
    std::string mark; ///< the bytes before it
    std::size_t after;
    std::string unknown;
};

TEST(BadInput, UnknownSizesInOtherContainers) {
    const Folder folder;
    const std::string ones(8, '\xFF'), zeros(8, '\0');
    const std::vector<Place> places{
        {SF_FORMAT_AU | SF_FORMAT_PCM_16, "a.au", ".snd", 4, ones.substr(0, 4)},
        {SF_FORMAT_CAF | SF_FORMAT_PCM_16, "a.caf", "data", 0, ones},
        {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, "a.wav", "ds64", 12, zeros},
        {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, "b.wav", "ds64", 12, ones},
    };
    for (const Place& place : places) {
        SCOPED_TRACE(place.name);
        const std::string path = folder / place.name;
        ASSERT_TRUE(write_audio(path, place.format, 2, 16000, noise(2000, 2, 9)));
        const Block before = read_all(*open_recording(path, {}));
        std::string bytes = bytes_of(path);
        const std::size_t at = bytes.find(place.mark) + place.mark.size() + place.after;
        bytes.replace(at, place.unknown.size(), place.unknown);
        write_bytes(path, bytes);
        const auto recording = open_recording(path, {});
        EXPECT_GE(recording->frames, 2000);
        EXPECT_TRUE(told(*recording, "does not say how long"));
        const Block after = read_all(*recording);
        for (int c = 0; c < 2; ++c)
            EXPECT_TRUE(std::equal(before.channel(c).begin(), before.channel(c).end(),
                                   after.channel(c).begin()));
    }
}

TEST(BadInput, OtherContainersCutShort) {
    const Folder folder;
    for (const int format : {SF_FORMAT_AIFF | SF_FORMAT_PCM_24, SF_FORMAT_W64 | SF_FORMAT_PCM_16,
                             SF_FORMAT_RF64 | SF_FORMAT_PCM_24, SF_FORMAT_CAF | SF_FORMAT_FLOAT,
                             SF_FORMAT_AU | SF_FORMAT_PCM_16, SF_FORMAT_FLAC | SF_FORMAT_PCM_16}) {
        SCOPED_TRACE(format);
        const std::string path = folder / "a.bin";
        const Frame frames = 20000;
        ASSERT_TRUE(write_audio(path, format, 2, 16000, noise(frames, 2, 9)));
        const Block whole = read_all(*open_recording(path, {}));
        const std::string bytes = bytes_of(path);
        write_bytes(path, bytes.substr(0, bytes.size() / 2 + 1));
        const auto recording = open_recording(path, {});
        EXPECT_GT(recording->frames, frames / 4);
        EXPECT_LT(recording->frames, frames * 3 / 4);
        EXPECT_EQ(recording->inputs[0].frames_promised, frames);
        EXPECT_TRUE(recording->inputs[0].cut_short);
        const Block part = read_all(*recording);
        ASSERT_EQ(part.frames, recording->frames);
        for (int c = 0; c < 2; ++c)
            EXPECT_TRUE(std::equal(part.channel(c).begin(), part.channel(c).end(),
                                   whole.channel(c).begin()));
    }
}

TEST(BadInput, AnyDamageIsAnErrorOrReadsToTheEnd) {
    const Folder folder;
    for (const int format : {wav16, wav24, wav_float, SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
                             SF_FORMAT_AIFF | SF_FORMAT_PCM_16, SF_FORMAT_W64 | SF_FORMAT_PCM_24,
                             SF_FORMAT_CAF | SF_FORMAT_PCM_16}) {
        const std::string path = folder / "a.wav";
        ASSERT_TRUE(write_audio(path, format, 2, 16000, noise(300, 2, 9)));
        const std::string bytes = bytes_of(path);
        const unsigned seed = 21;
        std::mt19937 random(seed);
        for (int i = 0; i < 150; ++i) {
            std::string damaged = bytes;
            for (int k = 0; k < 3; ++k)
                damaged[random() % std::min<std::size_t>(128, damaged.size())] =
                    static_cast<char>(random());
            write_bytes(path, damaged);
            try {
                const auto recording = open_recording(path, {});
                EXPECT_EQ(read_all(*recording).frames, recording->frames)
                    << "seed " << seed << " try " << i;
                EXPECT_LE(recording->frames, 1 << 20);
            } catch (const Error& error) {
                EXPECT_EQ(error.kind, ErrorKind::input) << error.what();
            }
        }
    }
}

TEST(BadInput, NotANumberBecomesZeroAndIsListed) {
    const Folder folder;
    std::vector<float> samples = noise(1000, 2, 4);
    const float nan = std::numeric_limits<float>::quiet_NaN(),
                infinite = std::numeric_limits<float>::infinity();
    for (const Frame n : {100, 101, 102})
        samples[static_cast<std::size_t>(2 * n)] = nan;
    samples[2 * 999 + 1] = -infinite;
    samples[1] = infinite;
    for (const int format : {wav_float, SF_FORMAT_WAV | SF_FORMAT_DOUBLE}) {
        ASSERT_TRUE(write_audio(folder / "a.wav", format, 2, 16000, samples));
        const auto recording = open_recording(folder / "a.wav", {});
        const Block block = read_all(*recording);
        ASSERT_EQ(block.non_finite.size(), 3U);
        const auto is = [](const lull::Run& run, int channel, Frame first, Frame count) {
            return run.channel == channel && run.first == first && run.count == count;
        };
        EXPECT_TRUE(is(block.non_finite[0], 0, 100, 3));
        EXPECT_TRUE(is(block.non_finite[1], 1, 0, 1));
        EXPECT_TRUE(is(block.non_finite[2], 1, 999, 1));
        EXPECT_EQ(block.channel(0)[101], 0.0F);
        EXPECT_EQ(block.channel(0)[103], samples[206]);
        for (const float sample : block.samples)
            EXPECT_TRUE(std::isfinite(sample));
        Block part;
        recording->open()->read(101, 1, part);
        ASSERT_EQ(part.non_finite.size(), 1U);
        EXPECT_TRUE(is(part.non_finite[0], 0, 101, 1));
    }
}

TEST(BadInput, UnknownChannelsAreRefused) {
    const Folder folder;
    ASSERT_TRUE(write_audio(folder / "a.wav", wav16, 3, 16000, noise(10, 3, 4)));
    const auto ask = [&](std::vector<std::string> wanted) {
        OpenOptions options;
        options.channels = std::move(wanted);
        return open_recording(folder / "a.wav", options);
    };
    EXPECT_EQ(ask({"3", "ch1"})->channels[0].name, "ch3");
    EXPECT_EQ(ask({"3", "ch1"})->channels[1].track, 1);
    for (const char* word : {"ch4", "0", "4", "-1", "1x", ""})
        expect_error([&] { ask({word}); }, ErrorKind::usage, {"no channel", "ch1, ch2, ch3"});
    expect_error([&] { ask({"1", "ch1"}); }, ErrorKind::usage, {"twice"});
}

} // namespace
} // namespace lull::test
