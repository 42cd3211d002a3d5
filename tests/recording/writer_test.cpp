// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/writer.hpp"

#include "recording/atomic_file.hpp"
#include "recording/digest.hpp"
#include "recording/helpers.hpp"
#include "recording/start_time.hpp"
#include "recording/virtual_recording.hpp"

#include <chrono>
#include <cmath>
#include <csignal>
#include <fcntl.h>
#include <sys/resource.h>
#include <thread>
#include <unistd.h>

namespace lull::test {
namespace {

void write_with_lull(const std::string& path, AudioFormat format,
                     const std::vector<float>& samples) {
    format.expected_frames = std::ssize(samples) / format.tracks;
    AudioWriter writer(path, format);
    writer.write(samples);
    writer.close();
}

TEST(Writer, SamplesAreReadBackToHalfAStep) {
    const Folder folder;
    for (const char* ending : {"wav", "rf64", "w64", "flac", "aiff", "caf"})
        for (const SampleFormat samples :
             {SampleFormat::pcm_16, SampleFormat::pcm_24, SampleFormat::float_32})
            for (const int tracks : {1, 3, 6}) {
                if (std::string(ending) == "flac" && samples == SampleFormat::float_32) continue;
                SCOPED_TRACE(ending);
                AudioFormat format;
                format.tracks = tracks;
                format.samples = samples;
                const std::string path = folder / (std::string("a.") + ending);
                const std::vector<float> written = noise(1000, tracks, 6);
                write_with_lull(path, format, written);
                const auto recording = open_recording(path, {});
                EXPECT_TRUE(recording->notices.empty());
                ASSERT_EQ(recording->frames, 1000);
                const Block block = read_all(*recording);
                const float half = samples == SampleFormat::pcm_16   ? 0.5F / 32768.0F
                                   : samples == SampleFormat::pcm_24 ? 0.5F / 8388608.0F
                                                                     : 0.0F;
                for (int c = 0; c < tracks; ++c)
                    for (Frame n = 0; n < 1000; ++n)
                        ASSERT_NEAR(block.channel(c)[static_cast<std::size_t>(n)],
                                    written[static_cast<std::size_t>(n * tracks + c)], half);
                // Samples at the file's resolution are unchanged by reading and writing, to the
                // last byte.
                const std::string again = folder / (std::string("b.") + ending);
                AudioFormat same = format;
                same.expected_frames = 1000;
                AudioWriter writer(again, same);
                writer.write(block);
                writer.close();
                EXPECT_EQ(writer.clipped(), 0);
                EXPECT_EQ(bytes_of(path), bytes_of(again));
            }
}

TEST(Writer, FilesHoldNoTimeOfWriting) {
    const Folder folder;
    const std::vector<std::string> endings{"wav", "rf64", "w64", "aiff", "caf"};
    const auto write = [&](const std::string& stem) {
        for (const std::string& ending : endings) {
            AudioFormat format;
            format.samples = SampleFormat::float_32;
            write_with_lull(folder / (stem + "." + ending), format, noise(500, 1, 6));
        }
        AudioFormat unknown;
        unknown.samples = SampleFormat::float_32;
        AudioWriter writer(folder / (stem + "-unknown.wav"), unknown);
        writer.write(noise(500, 1, 6));
        writer.close();
    };
    write("a");
    std::this_thread::sleep_for(std::chrono::milliseconds(1100)); // such times count whole seconds
    write("b");
    for (const std::string& ending : endings)
        EXPECT_EQ(bytes_of(folder / ("a." + ending)), bytes_of(folder / ("b." + ending))) << ending;
    EXPECT_EQ(bytes_of(folder / "a-unknown.wav"), bytes_of(folder / "b-unknown.wav"));
}

TEST(Writer, CountsClippedSamples) {
    const Folder folder;
    AudioFormat format;
    format.samples = SampleFormat::pcm_16;
    format.expected_frames = 6;
    AudioWriter writer(folder / "a.wav", format);
    writer.write(std::vector<float>{1.5F, -1.0F, 0.99999F, -1.1F, 1.0F, 32767.0F / 32768.0F});
    writer.close();
    EXPECT_EQ(writer.clipped(), 4) << "1.5, 0.99999, -1.1 and 1.0 round beyond the largest integer";
    const Block block = read_all(*open_recording(folder / "a.wav", {}));
    EXPECT_EQ(block.samples[0], 32767.0F / 32768.0F);
    EXPECT_EQ(block.samples[3], -1.0F);
}

TEST(Writer, StartAndDescriptionGoIntoTheBroadcastChunk) {
    const Folder folder;
    AudioFormat format;
    format.start = start_of(*parse_iso8601("2026-03-14T23:59:59.25"), "+01:00", "session");
    format.description = "EXERCISE: for this test";
    write_with_lull(folder / "a.wav", format, noise(100, 1, 6));
    const auto recording = open_recording(folder / "a.wav", {});
    EXPECT_EQ(recording->start.source, "bext chunk");
    EXPECT_FALSE(recording->start.utc_offset_s) << "a bext chunk carries no zone";
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T23:59:59.250");
    EXPECT_TRUE(recording->exercise);
    write_with_lull(folder / "a.flac", format, noise(100, 1, 6));
    EXPECT_TRUE(open_recording(folder / "a.flac", {})->exercise);
}

TEST(Writer, LargeFilesBecomeRf64BeforeTheyAreWritten) {
    const Folder folder;
    AudioFormat format;
    format.tracks = 6;
    format.expected_frames = Frame{1} << 30;
    AudioWriter large(folder / "a.wav", format);
    large.write(noise(10, 6, 6));
    large.close();
    EXPECT_EQ(bytes_of(folder / "a.wav").substr(0, 4), "RF64");
    EXPECT_EQ(open_recording(folder / "a.wav", {})->frames, 10);
    format.expected_frames.reset();
    AudioWriter unknown(folder / "b.wav", format);
    unknown.write(noise(10, 6, 6));
    unknown.close();
    EXPECT_EQ(bytes_of(folder / "b.wav").substr(0, 4), "RIFF")
        << "turned back, since it stayed small";
    EXPECT_EQ(open_recording(folder / "b.wav", {})->frames, 10);
}

TEST(Writer, NothingStaysWithoutClose) {
    const Folder folder;
    {
        AudioWriter writer(folder / "a.wav", {});
        writer.write(noise(100, 1, 6));
        EXPECT_FALSE(std::filesystem::exists(folder / "a.wav"));
    }
    EXPECT_TRUE(folder.names().empty());
}

TEST(Writer, RefusesImpossibleFormats) {
    const Folder folder;
    AudioFormat wide;
    wide.tracks = 9;
    expect_error([&] { AudioWriter(folder / "a.flac", wide); }, ErrorKind::usage,
                 {"9 channels", ".wav"});
    expect_error([&] { AudioWriter(folder / "a.doc", {}); }, ErrorKind::usage, {".doc", ".wav"});
    expect_error([&] { AudioWriter(folder / "no/such/a.wav", {}); }, ErrorKind::output,
                 {"No such file or directory"});
    EXPECT_TRUE(folder.names().empty());
}

TEST(Writer, FullDiskIsAFailure) {
    expect_error([] { write_file("/dev/full", "text"); }, ErrorKind::output,
                 {"/dev/full", "No space left"});
    const Folder folder;
    const rlimit none{4096, RLIM_INFINITY};
    rlimit before{};
    getrlimit(RLIMIT_FSIZE, &before);
    std::signal(SIGXFSZ, SIG_IGN);
    setrlimit(RLIMIT_FSIZE, &none);
    for (const char* name : {"a.wav", "a.flac", "a.w64", "a.caf"})
        expect_error(
            [&] {
                AudioWriter writer(folder / name, {});
                writer.write(noise(20000, 1, 6));
                writer.close();
            },
            ErrorKind::output, {name, "File too large"});
    expect_error([&] { write_file(folder / "a.csv", std::string(10000, 'x')); }, ErrorKind::output,
                 {"File too large"});
    setrlimit(RLIMIT_FSIZE, &before);
    EXPECT_TRUE(folder.names().empty());
}

TEST(AtomicFile, AppearsWholeAndStalePartsAreRemoved) {
    const Folder folder;
    write_bytes(folder / ".a.csv.part-999999999", "left by a dead process");
    write_bytes(folder / ".a.csv.part-1", "process 1 lives");
    write_bytes(folder / "a.csv", "old");
    AtomicFile file(folder / "a.csv");
    file.write("new ");
    EXPECT_EQ(bytes_of(folder / "a.csv"), "old");
    file.write("text");
    file.commit();
    EXPECT_EQ(bytes_of(folder / "a.csv"), "new text");
    EXPECT_FALSE(std::filesystem::exists(folder / ".a.csv.part-999999999"));
    EXPECT_TRUE(std::filesystem::exists(folder / ".a.csv.part-1"));
    std::filesystem::create_symlink("a.csv", folder / "link.csv");
    write_file(folder / "link.csv", "through");
    EXPECT_EQ(bytes_of(folder / "a.csv"), "through");
    EXPECT_TRUE(std::filesystem::is_symlink(folder / "link.csv"));
}

TEST(AtomicFile, IsNotRedirectedByAPlantedLink) {
    const Folder folder;
    write_bytes(folder / "precious", "keep me");
    const std::string part = part_name(folder / "a.csv");
    std::filesystem::create_symlink("precious", part);
    write_file(folder / "a.csv", "text");
    EXPECT_EQ(bytes_of(folder / "precious"), "keep me");
    EXPECT_EQ(bytes_of(folder / "a.csv"), "text");
    EXPECT_FALSE(std::filesystem::is_symlink(folder / "a.csv"));
}

TEST(Digest,
     MatchesThePublishedExamples) { // FIPS 180-2, appendix B.1 and B.3; the empty text: NIST
    EXPECT_EQ(sha256_of_text("abc"),
              "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(sha256_of_text(std::string(1000000, 'a')),
              "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    EXPECT_EQ(sha256_of_text(""),
              "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    const Folder folder;
    ASSERT_TRUE(write_audio(folder / "a.wav", wav16, 1, 16000, noise(100000, 1, 6)));
    const auto recording = open_recording(folder / "a.wav", {});
    digest_inputs(*recording);
    EXPECT_EQ(recording->inputs[0].sha256, sha256_of_text(bytes_of(folder / "a.wav")));
}

TEST(StandardInput, IsReadLikeAFile) {
    const Folder folder;
    ASSERT_TRUE(write_audio(folder / "a.wav", wav24, 3, 16000, noise(5000, 3, 6)));
    const int before = ::dup(STDIN_FILENO);
    const int file = ::open((folder / "a.wav").c_str(), O_RDONLY);
    ::dup2(file, STDIN_FILENO);
    const auto recording = open_recording("-", {});
    ::dup2(before, STDIN_FILENO);
    ::close(before);
    ::close(file);
    digest_inputs(*recording);
    EXPECT_EQ(recording->inputs[0].sha256, sha256_of_file(folder / "a.wav"));
    EXPECT_EQ(recording->inputs[0].label, "standard input");
    EXPECT_EQ(read_all(*recording).samples,
              read_all(*open_recording(folder / "a.wav", {})).samples);
}

long peak_kib() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;
}

/// Reads a recording in blocks of 10 s; of the long one a tenth of the blocks, spread over it.
void read_through(const Recording& recording, Frame every) {
    const auto stream = recording.open();
    Block block;
    const auto step = static_cast<Frame>(10.0 * recording.rate_hz);
    for (Frame first = 0; first < recording.frames; first += every * step)
        stream->read(first, step, block);
}

#ifdef LULL_SANITIZED
constexpr bool under_a_sanitizer = true;
#else
constexpr bool under_a_sanitizer = false;
#endif

TEST(Memory, DoesNotGrowWithLength) {
    if (under_a_sanitizer) GTEST_SKIP() << "a sanitizer keeps freed memory";
    const auto sample = [](int channel, Frame frame) {
        return static_cast<float>((frame + channel) % 100) / 100.0F;
    };
    read_through(VirtualRecording(6, 16000.0, 600 * 16000, sample), 10);
    const long after_ten_minutes = peak_kib();
    read_through(VirtualRecording(6, 16000.0, Frame{36000} * 16000, sample), 100);
    EXPECT_LE(peak_kib() - after_ten_minutes, 1024);
}

TEST(Memory, DoesNotGrowWithLengthOfARealFile) {
    if (under_a_sanitizer) GTEST_SKIP() << "a sanitizer keeps freed memory";
    const Folder folder;
    const auto make = [&](const std::string& name, Frame frames) { // a sparse file: silence
        const auto bytes = static_cast<std::uint64_t>(frames) * 18;
        write_bytes(folder / name, wav_header(6, 16000, 24, bytes));
        std::filesystem::resize_file(folder / name, 44 + bytes);
    };
    make("short.wav", 60 * 16000);
    make("long.wav", 3600 * 16000);
    read_through(*open_recording(folder / "short.wav", {}), 1);
    const long after_short = peak_kib();
    read_through(*open_recording(folder / "long.wav", {}), 10);
    EXPECT_LE(peak_kib() - after_short, 1024);
}

} // namespace
} // namespace lull::test
