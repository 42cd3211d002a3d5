// SPDX-License-Identifier: GPL-3.0-or-later
//
// One audio file, opened through libsndfile, libmpg123 or libmseed.
#pragma once

#include "conventions.hpp"
#include "recording/frame_range.hpp"
#include "recording/plain_pcm.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

inline constexpr int most_tracks = 64;
inline constexpr double lowest_rate_hz = 4000.0, highest_rate_hz = 192000.0;

/// The fields of a broadcast-wave chunk that lull reads.
struct BroadcastChunk {
    std::string description;
    std::string date, time; ///< "2026-03-14", "02:10:00", as written
    std::uint64_t samples_since_midnight = 0;
};

/// A descriptor that closes itself. It is shared, so that each thread can open its own view of a
/// file without a name (spooled standard input).
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

class FileSource;
class ShownBytes;
class MiniseedReader;
struct MiniseedIndex;

/// A sentence about a file for reports.
struct FileNotice {
    std::string text;
    bool degraded = false; ///< something was left out: exit status 4
};

struct AudioInfo {
    double rate_hz = 0.0;
    int tracks = 0;
    std::string format;  ///< "WAV, signed 24-bit PCM", from libsndfile's names
    int format_code = 0; ///< SF_INFO::format
    std::int64_t bytes = 0;
    std::optional<Frame> frames_promised; ///< by the header
    bool open_ended = false;              ///< the header's size was 0 or all ones
    Frame frames = 0;                     ///< number that can be read
    bool cut_short = false;               ///< fewer frames than promised, or the end is missing
    bool no_end = false;                  ///< cut short, known from missing last bytes
    std::vector<FrameRange> lost;         ///< damaged, in order, disjoint; they are read as 0
    bool reordered = false;     ///< parts were in the wrong place and have been put in order
    bool garbled = false;       ///< some samples are wrong, and it is not known which
    std::string unplaced;       ///< why the rest of a damaged file is not used
    bool only_integers = false; ///< no sample can be NaN or infinite
    std::int64_t pcm_at = 0;    ///< byte at which plain samples begin; 0: none
    int pcm_bytes = 0;          ///< bytes of one plain sample (decode_plain_pcm); 0: not plain
    std::shared_ptr<FileHandle> decoded; ///< samples as plain floats, for a file that cannot be
                                         ///< read from any position with the same result
    /// the bytes given to libsndfile; null: the file itself
    std::shared_ptr<const ShownBytes> shown;
    std::string comment; ///< from formats without a broadcast chunk; may be empty
    std::optional<BroadcastChunk> broadcast;
    std::vector<std::string> track_names; ///< from the file itself; empty: none
    std::optional<double> start_utc_s;    ///< exact start from the samples' own times, since 1970
    std::vector<FileNotice> notices;
    std::shared_ptr<const MiniseedIndex>
        miniseed; ///< index of its samples; null for other formats. `lost` is then what is lost on
                  ///< any track
};

/// Examines an audio file: reads its header and counts the frames that exist. Compressed formats
/// are checked: each frame of FLAC, each page of Ogg, the number of frames of MPEG. A file is
/// decoded as a whole if there is no other check, or if its decoder cannot seek.
/// \param path    shown in messages, and opened unless `spooled` is given
/// \throws Error(input): missing, a folder, not audio, no frames, more than 64 tracks, a rate
///         outside 4-192 kHz, a compression in which damage cannot be detected or located
[[nodiscard]] AudioInfo examine_audio(const std::string& path,
                                      const std::shared_ptr<FileHandle>& spooled);

/// Reads samples at any position. Not thread-safe: each thread opens its own.
class AudioFile {
  public:
    /// \param info  from examine_audio
    /// \throws Error(input) when the file can no longer be opened
    AudioFile(std::string path, std::shared_ptr<FileHandle> spooled, const AudioInfo& info);
    ~AudioFile();
    AudioFile(const AudioFile&) = delete;
    AudioFile& operator=(const AudioFile&) = delete;

    /// Reads [first, first + count) of the requested tracks.
    /// \throws Error(input) when frames that existed can no longer be read
    void read(Frame first, Frame count, std::span<const TrackTarget> targets);

  private:
    void read_sound(Frame first, Frame count, std::span<const TrackTarget> targets);
    void read_plain(Frame first, Frame count, std::span<const TrackTarget> targets);
    void read_decoded(Frame first, Frame count, std::span<const TrackTarget> targets);
    bool go_to(Frame frame);
    [[noreturn]] void fail_at(Frame frame) const;

    std::string path_;
    std::unique_ptr<FileSource> source_;
    AudioInfo info_;
    std::unique_ptr<MiniseedReader> miniseed_;
    Frame at_ = 0; ///< libsndfile's read position; below 0: unknown
    std::vector<unsigned char> bytes_;
    std::vector<float> floats_;
};

/// Copies standard input to a temporary file without a name.
/// \throws Error(input) when it is empty, Error(output) when there is no room
[[nodiscard]] std::shared_ptr<FileHandle> spool_standard_input();

} // namespace lull
