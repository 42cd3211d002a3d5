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

/// The parts of a broadcast-wave chunk that lull reads.
struct BroadcastChunk {
    std::string description;
    std::string date, time; ///< "2026-03-14", "02:10:00", as written
    std::uint64_t samples_since_midnight = 0;
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

class FileSource;
class ShownBytes;
class MiniseedReader;
struct MiniseedIndex;

/// One sentence on a file that a person must be told.
struct FileRemark {
    std::string text;
    bool degraded = false; ///< something was left out: exit status 4
};

struct AudioInfo {
    double rate_hz = 0.0;
    int tracks = 0;
    std::string format;  ///< "WAV, signed 24-bit PCM": libsndfile's names
    int format_code = 0; ///< SF_INFO::format
    std::int64_t bytes = 0;
    std::optional<Frame> frames_promised; ///< by the header
    bool open_ended = false;              ///< the header's size was 0 or all ones
    Frame frames = 0;                     ///< that can be read
    bool cut_short = false;               ///< fewer than promised, or the end is missing
    bool no_end = false;                  ///< how that is known: its last bytes are not there
    std::vector<FrameRange> lost;         ///< damaged: in order, apart; 0 where they are read
    bool reordered = false;               ///< parts stood in the wrong place, and are put right
    bool garbled = false;                 ///< some of it is wrong, and nothing tells where
    std::string unplaced;                 ///< why the rest of a damaged file is not used
    bool only_integers = false;           ///< no sample can be NaN or infinite
    std::int64_t pcm_at = 0;              ///< plain samples begin at this byte
    int pcm_bytes = 0;                    ///< of one such sample (decode_plain_pcm); 0: not plain
    std::shared_ptr<FileHandle> decoded;  ///< the samples as plain floats, where the file itself
                                          ///< cannot be read from any place with the same result
    std::shared_ptr<const ShownBytes> shown; ///< what libsndfile gets to see; null: the file itself
    std::string comment;                     ///< of formats without a broadcast chunk; may be empty
    std::optional<BroadcastChunk> broadcast;
    std::vector<std::string> track_names; ///< that the file itself gives; empty: none
    std::optional<double> start_utc_s;    ///< that its samples carry, since 1970, exact
    std::vector<FileRemark> remarks;
    std::shared_ptr<const MiniseedIndex> miniseed; ///< where its samples lie; null: another kind.
                                                   ///< `lost` is then what is lost on any track
};

/// What can be known of an audio file: opens it, reads its header, finds how many frames are
/// really there, and checks what compressed kinds have to check: every frame of FLAC, every page of
/// Ogg, the count of frames of MPEG. The whole of it is decoded where nothing else tells, and where
/// decoders cannot seek.
/// \param path    shown in messages, and opened unless `spooled` is given
/// \throws Error(input): missing, a folder, not audio, no frames, more than 64 tracks, a rate
///         outside 4-192 kHz, compressed in a way that damage could not be told or placed
[[nodiscard]] AudioInfo examine_audio(const std::string& path,
                                      const std::shared_ptr<FileHandle>& spooled);

/// Reads samples at any place. Not thread-safe: each thread opens its own.
class AudioFile {
  public:
    /// \param info  as examine_audio found it
    /// \throws Error(input) when the file can no longer be opened
    AudioFile(std::string path, std::shared_ptr<FileHandle> spooled, const AudioInfo& info);
    ~AudioFile();
    AudioFile(const AudioFile&) = delete;
    AudioFile& operator=(const AudioFile&) = delete;

    /// Reads [first, first + count) of the tracks wanted.
    /// \throws Error(input) when frames that were there can no longer be read
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
    Frame at_ = 0; ///< where libsndfile stands; below 0: not known
    std::vector<unsigned char> bytes_;
    std::vector<float> floats_;
};

/// Copies standard input to a temporary file that has no name any more.
/// \throws Error(input) when nothing comes, Error(output) when there is no room
[[nodiscard]] std::shared_ptr<FileHandle> spool_standard_input();

} // namespace lull
