// SPDX-License-Identifier: GPL-3.0-or-later
//
// A miniSEED file: an index of which record holds which samples of which channel.
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

/// The samples that are read from one record.
struct MiniseedSegment {
    std::int64_t at = 0;      ///< byte of the record
    int bytes = 0;            ///< of the record
    std::int32_t skipped = 0; ///< samples at its start that are not used
    FrameRange frames;        ///< on the file's time line
};

struct MiniseedTrack {
    std::string name;                      ///< network.station.location.channel
    std::vector<MiniseedSegment> segments; ///< in order of time, disjoint, without damaged ones
    std::vector<FrameRange> missing;       ///< no record has them, and no record there is damaged
    std::vector<FrameRange> lost;          ///< damaged
};

struct MiniseedIndex {
    std::vector<MiniseedTrack> tracks; ///< in order of their names, at one rate
};

/// Reads all records and decodes them once. Frame 0 is the earliest sample; each record's start is
/// rounded to whole frames. Records follow one another without a gap if their times differ from
/// that by at most half a sample (plus 100 us where times have that resolution). Of two that
/// overlap, the one that began earlier counts. Channels of another rate than most samples are left
/// out, with a notice.
/// \return empty when it is not miniSEED: neither a record at its start nor two consecutive ones
///         near it
/// \throws Error(input) when no sample can be used
[[nodiscard]] std::optional<AudioInfo> check_miniseed(const std::string& path, ByteWindow& file);

/// Reads samples at any position and decodes them on demand. Not thread-safe.
class MiniseedReader {
  public:
    MiniseedReader(const FileSource& source, std::shared_ptr<const MiniseedIndex> index);

    /// Reads [first, first + count); what is missing or lost is 0.
    /// \return the frame that can no longer be read; empty without a fault
    std::optional<Frame> read(Frame first, Frame count, std::span<const TrackTarget> targets);

  private:
    struct Held {
        std::int64_t at = -1;
        std::vector<float> samples;
    };
    bool hold(const MiniseedSegment& segment, Held& held);

    const FileSource* source_;
    std::shared_ptr<const MiniseedIndex> index_;
    MiniseedRecord record_;
    std::vector<Held> held_; ///< the last record read of each track
    std::vector<unsigned char> bytes_;
};

} // namespace lull
