// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/folder_watch.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>
#include <unistd.h>

namespace lull {
namespace {

namespace fs = std::filesystem;
constexpr double settled_s = 10.0;

std::string little_endian(std::uint32_t value) {
    std::string bytes;
    for (int i = 0; i < 4; ++i)
        bytes += static_cast<char>(value >> (8 * i));
    return bytes;
}

/// A mono 16-bit file at 8 kHz whose header states one number of bytes and which holds another.
std::string wave(std::uint32_t promised, std::size_t held) {
    std::string fields = std::string("\1\0\1\0", 4) + little_endian(8000) + little_endian(16000) +
                         std::string("\2\0\20\0", 4);
    return "RIFF" + little_endian(36 + promised) + "WAVEfmt " + little_endian(16) + fields +
           "data" + little_endian(promised) + std::string(held, '\1');
}

class Watch : public testing::Test {
  protected:
    Watch()
        : folder_(fs::temp_directory_path() / ("lull-watch-" + std::to_string(::getpid()))),
          watch_({folder_.string()}, settled_s) {
        fs::create_directory(folder_);
    }
    ~Watch() override { fs::remove_all(folder_); }
    Watch(const Watch&) = delete;
    Watch& operator=(const Watch&) = delete;

    /// \param order  files of a higher order were written later
    void write(const std::string& name, const std::string& bytes, int order) {
        std::ofstream(folder_ / name, std::ios::binary) << bytes;
        fs::last_write_time(folder_ / name, began_ + std::chrono::seconds(order));
    }
    /// Names of the finished files at a time, then "|", then of the unfinished ones.
    std::string at(double now_s) {
        const FolderView view = watch_.look({}, now_s);
        std::string text;
        for (const WatchedFile& file : view.finished)
            text += file.label + " ";
        text += "|";
        for (const WatchedFile& file : view.growing)
            text += " " + file.label;
        return text;
    }
    const fs::file_time_type began_ = fs::file_time_type::clock::now();
    fs::path folder_;
    FolderWatch watch_;
};

TEST_F(Watch, CompleteFileIsFinishedOnceItHasSettled) {
    write("1.wav", wave(1000, 1000), 0);
    EXPECT_EQ(at(0.0), "| 1.wav");
    EXPECT_EQ(at(9.9), "| 1.wav");
    EXPECT_EQ(at(10.0), "1.wav |");
    write("1.wav", wave(1000, 1002), 1); // it changes again
    EXPECT_EQ(at(11.0), "| 1.wav");
    EXPECT_EQ(at(21.0), "1.wav |");
    fs::remove(folder_ / "1.wav");
    EXPECT_EQ(at(22.0), "|");
}

TEST_F(Watch, ShortFileIsFinishedAfterTheNextFileOrALongTime) {
    write("1.wav", wave(1000, 500), 0);
    write("2.wav", wave(0xFFFFFFFF, 500), 0);
    EXPECT_EQ(at(0.0), "| 1.wav 2.wav");
    EXPECT_EQ(at(59.9), "| 1.wav 2.wav") << "written at one time, as by two recorders";
    write("2.wav", wave(0xFFFFFFFF, 600), 5);
    EXPECT_EQ(at(59.95), "1.wav | 2.wav") << "1 is the older one now, and has settled long ago";
    EXPECT_EQ(at(119.9), "1.wav | 2.wav");
    EXPECT_EQ(at(119.95), "1.wav 2.wav |") << "six times the while";
}

TEST_F(Watch, FileThatIsNoAudioIsFinishedAfterALongTime) {
    write("1.wav", "a letter", 0);
    write("2.wav", wave(1000, 1000), 1);
    EXPECT_EQ(at(0.0), "| 1.wav 2.wav");
    EXPECT_EQ(at(10.0), "1.wav 2.wav |");
}

TEST(Whole, IsAFileThatHoldsWhatItsHeaderStates) {
    const std::string path =
        (fs::temp_directory_path() / ("lull-whole-" + std::to_string(::getpid()))).string();
    const auto whole = [&](const std::string& bytes) {
        std::ofstream(path, std::ios::binary) << bytes;
        return is_whole_by_header(path);
    };
    EXPECT_TRUE(whole(wave(1000, 1000)));
    EXPECT_FALSE(whole(wave(1000, 998)));
    EXPECT_FALSE(whole(wave(0, 1000)));
    EXPECT_FALSE(whole(wave(0xFFFFFFFF, 1000)));
    EXPECT_FALSE(whole(wave(1000, 1000).substr(0, 30)));
    EXPECT_FALSE(whole("a letter"));
    fs::remove(path);
    EXPECT_FALSE(is_whole_by_header(path));
}

} // namespace
} // namespace lull
