// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writing audio files.
#pragma once

#include "recording/recording.hpp"

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

enum class SampleFormat { pcm_16, pcm_24, float_32 };

struct AudioFormat {
    double rate_hz = 16000.0;
    int tracks = 1;
    SampleFormat samples = SampleFormat::pcm_24;
    std::optional<Frame> expected_frames; ///< decides on RF64 before opening; empty: RF64, changed
                                          ///< back to WAV if the file stays small
    StartTime start;                      ///< goes into the bext chunk of WAV and RF64
    std::string description;              ///< also there; an exercise's begins with exercise_mark
    bool in_haste = false;                ///< FLAC: half the time, 10 % larger
};

/// Writes one audio file in the format of its name's ending (.wav, .rf64, .w64, .flac, .aiff,
/// .caf). It gets its name only at close(). The same samples give the same bytes: no time of
/// writing, no PEAK chunk.
class AudioWriter {
  public:
    /// \throws Error(usage) for an ending that is unknown or whose format cannot hold the samples,
    ///         Error(output) when the file cannot be created
    AudioWriter(std::string path, const AudioFormat& format);
    /// The same into memory: `bytes`, which outlives the writer, holds the file after close().
    /// \param ending  ".flac"
    AudioWriter(const std::string& ending, const AudioFormat& format, std::string& bytes);
    ~AudioWriter(); ///< removes an unfinished file
    AudioWriter(const AudioWriter&) = delete;
    AudioWriter& operator=(const AudioWriter&) = delete;

    /// Planar samples, full scale = 1. Samples beyond it are clipped and counted (not for float).
    /// \throws Error(output) with the system's reason
    void write(const Block& block);
    /// Interleaved samples, tracks * frames.
    void write(std::span<const float> interleaved);
    /// \throws Error(output)
    void close();
    [[nodiscard]] Frame clipped() const { return clipped_; } ///< samples so far

  private:
    struct Sink;
    AudioWriter(std::string path, const AudioFormat& format, std::unique_ptr<Sink> sink);
    void describe(int container, const AudioFormat& format);
    void clear_peak_time();
    void to_integers(std::span<const float> samples);

    std::string path_;
    std::unique_ptr<Sink> sink_;
    int tracks_;
    SampleFormat samples_;
    bool rf64_ = false;
    Frame clipped_ = 0;
    std::vector<float> buffer_;
    std::vector<std::int32_t> integers_;
};

} // namespace lull
