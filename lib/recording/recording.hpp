// SPDX-License-Identifier: GPL-3.0-or-later
//
// A recording ready to be analysed: channels at one rate on one time line, made of one file or of
// many that belong together or follow each other.
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

/// A stretch of one channel's time line that is special: not-a-number samples, or no data at all.
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
    std::vector<Run> lost;       ///< frames that are damaged in the file that holds them; 0 here

    [[nodiscard]] std::span<float> channel(int c) {
        return {samples.data() + static_cast<Frame>(c) * frames, static_cast<std::size_t>(frames)};
    }
    [[nodiscard]] std::span<const float> channel(int c) const {
        return {samples.data() + static_cast<Frame>(c) * frames, static_cast<std::size_t>(frames)};
    }
};

/// Gives a stretch of all channels, conditioned as its maker says (band-passed, usually), for
/// consumers that need a waveform again. The block stays valid until the next call.
using StretchOf = std::function<const Block&(Frame first, Frame count)>;

/// One reader's position-free access to the samples. Not thread-safe: one Stream a thread.
class Stream {
  public:
    virtual ~Stream() = default;
    /// Reads frames [first, first+count) of the time line, all channels, into block (resized).
    /// Frames before 0 and after the end are not delivered: block.first and block.frames say what
    /// was; frames is 0 past the end. A file that ends before its promised length ends the block
    /// early only if no later file has data. Polarity of the channel is applied, gain is not.
    /// \throws Error(input) when a file that was there can no longer be read.
    virtual void read(Frame first, Frame count, Block& block) = 0;
};

/// What one input file promised and held; goes into every report.
struct InputFile {
    std::string path;  ///< as the user or the session wrote it
    std::string label; ///< what reports show: the name without folders
    std::int64_t bytes = 0;
    std::string sha256; ///< lower-case hex; empty until digest_inputs() filled it
    std::string format; ///< "WAV, signed 24-bit PCM"
    double rate_hz = 0.0;
    int tracks = 0;
    std::optional<Frame> frames_promised; ///< by the header itself; none when it does not know
    Frame frames = 0;                     ///< that are really there
    Frame first = 0;                      ///< where on the time line it starts
    bool cut_short = false;               ///< fewer frames than promised, or the end is missing
    std::vector<FrameRange> lost;         ///< damaged frames of the file, in order
};

/// Something about the inputs that a person must be told. Repeated words for one fact are a fault.
struct Notice {
    std::string file;      ///< label; may be empty
    std::string text;      ///< one sentence
    bool degraded = false; ///< an input was skipped, cut short or damaged: exit status 4
};

/// How the start of the time line is known.
struct StartTime {
    std::optional<double>
        unix_s; ///< seconds since 1970-01-01T00:00:00 in the zone below, none: unknown
    std::optional<int>
        utc_offset_s;      ///< of the zone at the start; none: the recorder's own time, no zone
    std::string zone_name; ///< IANA name when the session gives one
    double sigma_s = 0.0;
    std::string source; ///< "session", "bext chunk", "file name", "not known: times count from 0 s"
};

/// Immutable once opened; safe to share between threads.
class Recording {
  public:
    virtual ~Recording() = default;
    Session session;               ///< the session file, or one made up for a bare file
    std::vector<Channel> channels; ///< those selected, in order
    double rate_hz = 0.0;
    Frame frames = 0; ///< length of the time line
    StartTime start;
    std::vector<InputFile> inputs;
    std::vector<Notice> notices;
    bool exercise = false; ///< marked as an exercise (bext chunk or session)

    /// A reader of its own, for one thread. \throws Error(input)
    [[nodiscard]] virtual std::unique_ptr<Stream> open() const = 0;

    [[nodiscard]] double seconds(Frame frame) const { return static_cast<double>(frame) / rate_hz; }
    [[nodiscard]] double duration_s() const { return seconds(frames); }
};

class ExaminedFiles;

struct OpenOptions {
    std::string session_file;                ///< describes a bare file's channels; may be empty
    std::vector<std::string> channels;       ///< names or numbers from 1; empty: all
    bool allow_outside = false;              ///< session may name files outside its folder
    std::shared_ptr<ExaminedFiles> examined; ///< of a folder that is opened again; may be null
};

/// Opens what the user named: an audio file, a session file (.json) or "-" (standard input, spooled
/// to an unlinked temporary file). Every channel must have one rate.
/// \throws Error(input) for whatever makes the input unusable, Error(usage) for an unknown channel.
[[nodiscard]] std::shared_ptr<Recording> open_recording(const std::string& input,
                                                        const OpenOptions& options);

/// Fills InputFile::sha256 of every input. Separate, since it reads each file whole.
void digest_inputs(Recording& recording);

} // namespace lull
