// SPDX-License-Identifier: GPL-3.0-or-later
//
// Small files for the tests of recording/, and checks of error messages.
#pragma once

#include "error.hpp"
#include "recording/recording.hpp"

#include <gtest/gtest.h>
#include <sndfile.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

namespace lull::test {

/// A temporary folder for one test.
class Folder {
  public:
    Folder() {
        std::string name =
            (std::filesystem::temp_directory_path() / "lull-recording-XXXXXX").string();
        path_ = ::mkdtemp(name.data());
    }
    ~Folder() {
        std::error_code ignored;
        std::filesystem::remove_all(path_, ignored);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] std::string operator/(const std::string& name) const {
        return (path_ / name).string();
    }
    [[nodiscard]] std::vector<std::string> names() const {
        std::vector<std::string> all;
        for (const auto& entry : std::filesystem::directory_iterator(path_))
            all.push_back(entry.path().filename());
        return all;
    }

  private:
    std::filesystem::path path_;
};

inline std::string bytes_of(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

inline void write_bytes(const std::string& path, const std::string& bytes) {
    std::ofstream(path, std::ios::binary) << bytes;
}

/// Interleaved noise within +-0.7.
inline std::vector<float> noise(Frame frames, int tracks, unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<float> value(-0.7F, 0.7F);
    std::vector<float> samples(static_cast<std::size_t>(frames * tracks));
    for (float& sample : samples)
        sample = value(random);
    return samples;
}

/// Writes through libsndfile, independently of lull's writer. False when it cannot.
inline bool write_audio(const std::string& path, int format, int tracks, int rate_hz,
                        const std::vector<float>& interleaved) {
    SF_INFO info{};
    info.format = format;
    info.channels = tracks;
    info.samplerate = rate_hz;
    SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
    if (file == nullptr) return false;
    sf_command(file, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    const auto frames = static_cast<sf_count_t>(interleaved.size()) / tracks;
    constexpr sf_count_t step = 120;
    bool written = true;
    for (sf_count_t done = 0; done < frames; done += step) {
        const sf_count_t now = std::min(step, frames - done);
        written = written && sf_writef_float(file, interleaved.data() + done * tracks, now) == now;
    }
    return sf_close(file) == 0 && written;
}

constexpr int wav16 = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
constexpr int wav24 = SF_FORMAT_WAV | SF_FORMAT_PCM_24;
constexpr int wav_float = SF_FORMAT_WAV | SF_FORMAT_FLOAT;

inline std::string little(std::uint64_t value, int bytes) {
    std::string text;
    for (int i = 0; i < bytes; ++i)
        text += static_cast<char>(value >> (8 * i) & 0xFF);
    return text;
}

/// A canonical WAV header with the given fields.
inline std::string wav_header(int tracks, int rate_hz, int bits, std::uint64_t data_bytes) {
    const int align = tracks * bits / 8;
    return "RIFF" + little(std::min<std::uint64_t>(36 + data_bytes, 0xFFFFFFFF), 4) + "WAVEfmt " +
           little(16, 4) + little(1, 2) + little(static_cast<std::uint64_t>(tracks), 2) +
           little(static_cast<std::uint64_t>(rate_hz), 4) +
           little(static_cast<std::uint64_t>(rate_hz * align), 4) +
           little(static_cast<std::uint64_t>(align), 2) +
           little(static_cast<std::uint64_t>(bits), 2) + "data" + little(data_bytes, 4);
}

inline Block read_all(const Recording& recording) {
    Block block;
    recording.open()->read(0, recording.frames, block);
    return block;
}

/// Expects that an action throws an error of that kind whose text has all these words.
template <typename Action>
void expect_error(Action action, ErrorKind kind, const std::vector<std::string>& words) {
    try {
        action();
        ADD_FAILURE() << "nothing was thrown; expected words: " << words.front();
    } catch (const Error& error) {
        EXPECT_EQ(error.kind, kind) << error.what();
        const std::string text =
            error.file + " | " + error.place + " | " + error.fault + " | " + error.mend;
        for (const std::string& word : words)
            EXPECT_NE(text.find(word), std::string::npos) << word << " in: " << text;
    }
}

inline void expect_bad_input(const std::string& path, const std::vector<std::string>& words,
                             const OpenOptions& options = {}) {
    expect_error([&] { static_cast<void>(open_recording(path, options)); }, ErrorKind::input,
                 words);
}

inline bool told(const Recording& recording, const std::string& words) {
    for (const Notice& notice : recording.notices)
        if ((notice.file + ": " + notice.text).find(words) != std::string::npos) return true;
    return false;
}

} // namespace lull::test
