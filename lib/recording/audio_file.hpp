// SPDX-License-Identifier: GPL-3.0-or-later
//
// One audio file, opened through libsndfile.
#pragma once

#include "conventions.hpp"

#include <memory>
#include <optional>
#include <span>
#include <string>

namespace lull {

inline constexpr int most_tracks = 64;
inline constexpr double lowest_rate_hz = 4000.0, highest_rate_hz = 192000.0;

/// The parts of a broadcast-wave chunk that lull reads.
struct BroadcastChunk {
    std::string description;
    std::string date, time;              ///< "2026-03-14", "02:10:00", as written
    std::uint64_t samples_since_midnight = 0;
};

struct AudioInfo {
    double rate_hz = 0.0;
    int tracks = 0;
    std::string format;                   ///< "WAV (Microsoft), signed 24 bit PCM", by libsndfile
    int format_code = 0;                  ///< SF_INFO::format
    std::int64_t bytes = 0;
    std::optional<Frame> frames_promised; ///< by the header
    bool open_ended = false;              ///< the header's size was 0 or all ones
    Frame frames = 0;                     ///< that can be read
    bool cut_short = false;               ///< fewer than promised, or cut in mid-frame
    std::optional<BroadcastChunk> broadcast;
};

/// A descriptor that closes itself; shared, so that each thread can open its own view of a file
/// that has no name (standard input, spooled).
class FileHandle {
  public:
    explicit FileHandle(int descriptor) : descriptor_(descriptor) {}
    ~FileHandle();
    FileHandle(const FileHandle&) = delete;
    FileHandle& operator=(const FileHandle&) = delete;
    [[nodiscard]] int descriptor() const { return descriptor_; }

  private:
    int descriptor_;
};

/// Not thread-safe: each thread opens its own.
class AudioFile {
  public:
    /// \param path   shown in messages, and opened unless `spooled` is given
    /// \throws Error(input): missing, a folder, not audio, no frames, more than 64 tracks, a rate
    ///         outside 4-192 kHz
    explicit AudioFile(std::string path, std::shared_ptr<FileHandle> spooled = nullptr);
    ~AudioFile();
    AudioFile(const AudioFile&) = delete;
    AudioFile& operator=(const AudioFile&) = delete;

    /// Fills info().frames, frames_promised, cut_short and broadcast; costs a decode of the whole
    /// file where the header does not tell. Once a file is enough.
    void measure();
    [[nodiscard]] const AudioInfo& info() const { return info_; }

    /// Reads interleaved samples from frame `first` on; returns the frames read, fewer at the end
    /// or where decoding fails. \param into tracks * wanted frames
    [[nodiscard]] Frame read(Frame first, std::span<float> into);

  private:
    struct Source;
    std::string path_;
    std::unique_ptr<Source> source_;
    AudioInfo info_;
    Frame at_ = 0;
};

/// Copies standard input to a temporary file that has no name any more.
/// \throws Error(input) when nothing comes, Error(output) when there is no room
[[nodiscard]] std::shared_ptr<FileHandle> spool_standard_input();

} // namespace lull
