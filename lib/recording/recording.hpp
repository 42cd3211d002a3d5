// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording ready for analysis: channels at one rate on one time line. It consists of one file,
// or of several that belong together or follow one another.
#pragma once

#include "conventions.hpp"
#include "recording/channel.hpp"
#include "recording/frame_range.hpp"
#include "recording/session.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// A stretch of one channel's time line with NaN or infinite samples, or without data.
struct Run {
    int channel = 0; ///< index into Recording::channels
    Frame first = 0; ///< on the time line
    Frame count = 0;
};

/// Planar samples of all selected channels, full scale = 1.
struct Block {
    Frame first = 0;  ///< time-line frame of sample 0
    Frame frames = 0; ///< per channel
    int channels = 0;
    std::vector<float> samples;  ///< channel c at [c*frames, (c+1)*frames)
    std::vector<Run> non_finite; ///< samples that were NaN or infinite and are 0 here
    std::vector<Run> missing;    ///< frames for which no file has data; 0 here
    std::vector<Run> lost;       ///< damaged frames of a file; 0 here

    [[nodiscard]] std::span<float> channel(int c) {
        return {samples.data() + static_cast<Frame>(c) * frames, static_cast<std::size_t>(frames)};
    }
    [[nodiscard]] std::span<const float> channel(int c) const {
        return {samples.data() + static_cast<Frame>(c) * frames, static_cast<std::size_t>(frames)};
    }
};

/// Gives a stretch of all channels, filtered as its maker states (usually band-passed), to code
/// that needs a waveform again. The block stays valid until the next call.
using StretchOf = std::function<const Block&(Frame first, Frame count)>;

/// Random access to the samples for one reader. Not thread-safe: one Stream a thread.
class Stream {
  public:
    virtual ~Stream() = default;
    /// Reads frames [first, first+count) of the time line, all channels, into block (resized).
    /// Frames before 0 and after the end are not delivered: see block.first and block.frames, which
    /// is 0 past the end. A file that ends before its promised length ends the block early only if
    /// no later file has data. The channel's polarity is applied, its gain is not.
    /// \throws Error(input) when a file that existed can no longer be read
    virtual void read(Frame first, Frame count, Block& block) = 0;
};

/// What one input file promised and held. It is part of every report.
struct InputFile {
    std::string path;  ///< as the user or the session wrote it
    std::string label; ///< name in reports, without folders
    std::int64_t bytes = 0;
    std::string sha256; ///< lower-case hex; empty until digest_inputs()
    std::string format; ///< "WAV, signed 24-bit PCM"
    double rate_hz = 0.0;
    int tracks = 0;
    std::optional<Frame> frames_promised; ///< by the header; empty when it does not know
    Frame frames = 0;                     ///< number that exists
    Frame first = 0;                      ///< start on the time line
    bool cut_short = false;               ///< fewer frames than promised, or the end is missing
    std::vector<FrameRange> lost;         ///< damaged frames of the file, in order
};

/// A sentence about the inputs for reports. Each fact is stated once.
struct Notice {
    std::string file;      ///< its label; may be empty
    std::string text;      ///< one sentence
    bool degraded = false; ///< an input was skipped, cut short or damaged: exit status 4
};

/// The start of the time line, and where it is known from.
struct StartTime {
    std::optional<double>
        unix_s; ///< seconds since 1970-01-01T00:00:00 in the zone below; empty: unknown
    std::optional<int>
        utc_offset_s; ///< of the zone at the start; empty: the recorder's own time without a zone
    std::string zone_name; ///< IANA name if the session gives one
    double sigma_s = 0.0;
    std::string source; ///< "session", "bext chunk", "file name", "not known: times count from 0 s"
};

/// Immutable once opened; safe to share between threads.
class Recording {
  public:
    virtual ~Recording() = default;
    Session session;               ///< the session file, or one made for a bare file
    std::vector<Channel> channels; ///< the selected ones, in order
    double rate_hz = 0.0;
    Frame frames = 0; ///< length of the time line
    StartTime start;
    std::vector<InputFile> inputs;
    std::vector<Notice> notices;
    bool exercise = false; ///< marked as an exercise (bext chunk or session)

    /// Opens a reader for one thread. \throws Error(input)
    [[nodiscard]] virtual std::unique_ptr<Stream> open() const = 0;

    [[nodiscard]] double seconds(Frame frame) const { return static_cast<double>(frame) / rate_hz; }
    [[nodiscard]] double duration_s() const { return seconds(frames); }
};

class ExaminedFiles;

struct OpenOptions {
    std::string session_file;          ///< describes a bare file's channels; may be empty
    std::vector<std::string> channels; ///< names or numbers from 1; empty: all
    bool allow_outside = false;        ///< session may name files outside its folder
    /// cache for a folder that is opened repeatedly; may be null
    std::shared_ptr<ExaminedFiles> examined;
};

/// Opens an input: an audio file, a session file (.json) or "-" (standard input, spooled to an
/// unlinked temporary file). All channels must have one rate.
/// \throws Error(input) for an unusable input, Error(usage) for an unknown channel
[[nodiscard]] std::shared_ptr<Recording> open_recording(const std::string& input,
                                                        const OpenOptions& options);

/// Fills InputFile::sha256 of every input. It is a separate step, because it reads each file whole.
void digest_inputs(Recording& recording);

} // namespace lull
