// SPDX-License-Identifier: GPL-3.0-or-later
//
// Makes spectrum tracks from a stream of blocks.
#pragma once

#include "recording/recording.hpp"
#include "signal/fft.hpp"
#include "signal/tracks.hpp"

#include <complex>
#include <vector>

namespace lull {

/// Short-time power of each channel in about ten contiguous bands from 60 Hz to the lower of 8000
/// Hz and 0.45 of the rate: a periodic Hann window of 16 ms (lengthened to a fast size), every 8
/// ms, centred on a raster counted from frame 0 of the time line. A band's power is its share of
/// the mean square: white noise of variance s^2 gives s^2 * (bins of the band) / (rate/2 in bins).
class SpectrumTracker {
  public:
    /// \param frames  approximate expected number, for which space is reserved
    SpectrumTracker(int channels, double rate_hz, Frame first, Frame frames = 0);

    /// Blocks must follow one another without a gap from `first` on.
    void push(const Block& block);
    /// The tracks, one a channel, of all windows that were filled. The tracker is then empty.
    [[nodiscard]] std::vector<SpectrumTrack> take();

  private:
    void transform(std::size_t channel, std::size_t slots);
    [[nodiscard]] static std::size_t slot(Frame window) {
        return static_cast<std::size_t>(window) % batch;
    }

    /// Windows are transformed in batches on a raster counted from frame 0. So a window has the
    /// same place in its batch, and gives the same bytes, for any blocks.
    static constexpr std::size_t batch = 16;
    std::size_t window_size_;
    Frame hop_;
    RealFft fft_;
    std::vector<float> window_;
    std::vector<std::size_t> band_begin_; ///< bands + 1 bin indices
    std::vector<SpectrumTrack> tracks_;
    std::vector<std::vector<float>> waiting_;  ///< samples still needed, one vector a channel
    Frame waiting_first_ = 0;                  ///< frame of waiting_[c][0]
    Frame next_ = 0;                           ///< next window; its centre is next_ * hop_
    std::size_t batch_first_ = 0;              ///< first slot of the batch in use
    std::vector<std::vector<float>> windowed_; ///< the batch, one a channel
    std::vector<float> powers_;
    std::vector<std::complex<float>> spectrum_;
};

} // namespace lull
