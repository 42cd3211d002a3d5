// SPDX-License-Identifier: GPL-3.0-or-later
//
// A file of miniSEED: which of its records holds which samples of which channel.
#pragma once

#include "recording/audio_file.hpp"
#include "recording/internal/byte_window.hpp"
#include "recording/internal/file_source.hpp"
#include "recording/internal/miniseed_record.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// Samples that are read from one record.
struct MiniseedPiece {
    std::int64_t at = 0;      ///< byte of the record
    int bytes = 0;            ///< of the record
    std::int32_t skipped = 0; ///< samples at its beginning that do not count
    FrameRange frames;        ///< of the file's time line
};

struct MiniseedTrack {
    std::string name;                  ///< network.station.location.channel
    std::vector<MiniseedPiece> pieces; ///< in order of time, apart; damaged ones are not among them
    std::vector<FrameRange> missing;   ///< no record has them, and none was damaged there
    std::vector<FrameRange> lost;      ///< damaged
};

struct MiniseedIndex {
    std::vector<MiniseedTrack> tracks; ///< in order of their names, at one rate
};

/// Reads all records and decodes them once. Frame 0 is the earliest sample; every record's start is
/// rounded to whole frames. Records follow each other without a gap where their times differ from
/// that by at most half a sample (and 100 us where times are no finer); of two that overlap, the
/// one that began earlier counts. What has another rate than most samples is left out, with a
/// remark. \return none when it is no miniSEED: no record begins at its start, nor two, one after
/// the
///         other, near it
/// \throws Error(input) when no sample can be used
[[nodiscard]] std::optional<AudioInfo> check_miniseed(const std::string& path, ByteWindow& file);

/// Samples at any place, decoded when they are asked for. Not thread-safe.
class MiniseedReader {
  public:
    MiniseedReader(const FileSource& source, std::shared_ptr<const MiniseedIndex> index);

    /// Reads [first, first + count); what is missing or lost is 0.
    /// \return the frame that can no longer be read; none when all is well
    std::optional<Frame> read(Frame first, Frame count, std::span<const TrackTarget> targets);

  private:
    struct Held {
        std::int64_t at = -1;
        std::vector<float> samples;
    };
    bool hold(const MiniseedPiece& piece, Held& held);

    const FileSource* source_;
    std::shared_ptr<const MiniseedIndex> index_;
    MiniseedRecord record_;
    std::vector<Held> held_; ///< the record of each track that was read last
    std::vector<unsigned char> bytes_;
};

} // namespace lull
