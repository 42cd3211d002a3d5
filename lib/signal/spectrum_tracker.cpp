// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/spectrum_tracker.hpp"

#include "clones.hpp"
#include "signal/window.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace lull {
namespace {

constexpr double highest_share = 0.45; ///< of the rate; above it recorders' own filters dominate

std::vector<double> edges_for(double rate_hz) {
    const double highest_hz = highest_share * rate_hz;
    std::vector<double> edges;
    for (const double edge : spectrum_edges_hz)
        if (edge < highest_hz) edges.push_back(edge);
    // A very narrow band at the top is joined to the one below.
    if (edges.size() > 2 && highest_hz < 1.2 * edges.back())
        edges.back() = highest_hz;
    else if (edges.back() < spectrum_edges_hz.back())
        edges.push_back(highest_hz);
    return edges;
}

/// Power of each bin.
LULL_CLONES void squares_of(const std::complex<float>* bins, std::size_t count, float* power) {
    const auto* parts = reinterpret_cast<const float*>(bins); // [complex.numbers.general]
    for (std::size_t k = 0; k < count; ++k)
        power[k] = parts[2 * k] * parts[2 * k] + parts[2 * k + 1] * parts[2 * k + 1];
}

/// Running sums in a fixed order, so that the loop can be vectorised.
LULL_CLONES float sum_of(const float* x, std::size_t count) {
    constexpr std::size_t lanes = 8;
    float sums[lanes] = {};
    std::size_t i = 0;
    for (; i + lanes <= count; i += lanes)
        for (std::size_t j = 0; j < lanes; ++j)
            sums[j] += x[i + j];
    float sum = 0.0F;
    for (; i < count; ++i)
        sum += x[i];
    for (const float part : sums)
        sum += part;
    return sum;
}

} // namespace

SpectrumTracker::SpectrumTracker(int channels, double rate_hz, Frame first, Frame frames)
    : window_size_(fast_size(static_cast<std::size_t>(std::ceil(2.0 * spectrum_hop_s * rate_hz)))),
      hop_(std::max<Frame>(1, std::llround(spectrum_hop_s * rate_hz))), fft_(window_size_, batch),
      window_(periodic_window(WindowKind::hann, window_size_)),
      tracks_(static_cast<std::size_t>(channels)), waiting_(tracks_.size()),
      windowed_(tracks_.size(), std::vector<float>(batch * window_size_)), powers_(fft_.bins()),
      spectrum_(batch * fft_.bins()) {
    const std::vector<double> edges = edges_for(rate_hz);
    const double bin_hz = rate_hz / static_cast<double>(window_size_);
    for (const double edge : edges)
        band_begin_.push_back(
            std::min(fft_.bins(), static_cast<std::size_t>(std::ceil(edge / bin_hz))));
    const auto half = static_cast<Frame>(window_size_ / 2);
    next_ = (first + half + hop_ - 1) / hop_;
    batch_first_ = slot(next_);
    waiting_first_ = first;
    for (SpectrumTrack& track : tracks_) {
        track.first = next_ * hop_;
        track.hop = hop_;
        track.edges_hz = edges;
        track.power.reserve(static_cast<std::size_t>(frames / hop_ + 2) * track.bands());
    }
    // Mean square of a bin's share, one-sided: 2|X|^2 / (n * sum w^2), included in the window.
    double squares = 0.0;
    for (const float w : window_)
        squares += static_cast<double>(w) * static_cast<double>(w);
    const double scale = std::sqrt(2.0 / (static_cast<double>(window_size_) * squares));
    for (float& w : window_)
        w *= static_cast<float>(scale);
}

void SpectrumTracker::transform(std::size_t channel, std::size_t slots) {
    fft_.forward(windowed_[channel], spectrum_);
    SpectrumTrack& track = tracks_[channel];
    const std::size_t bins = fft_.bins();
    for (std::size_t f = batch_first_; f < slots; ++f) {
        const std::complex<float>* bin = spectrum_.data() + f * bins;
        squares_of(bin, bins, powers_.data());
        for (std::size_t b = 0; b + 1 < band_begin_.size(); ++b)
            track.power.push_back(
                sum_of(powers_.data() + band_begin_[b], band_begin_[b + 1] - band_begin_[b]));
    }
}

void SpectrumTracker::push(const Block& block) {
    if (tracks_.empty() || block.frames == 0) return;
    const auto size = static_cast<Frame>(window_size_);
    const auto begin_of = [&](Frame window) { return window * hop_ - size / 2; };
    const Frame end = waiting_first_ + static_cast<Frame>(waiting_[0].size()) + block.frames;
    Frame window_end = next_; // one past the last window that is filled now
    while (begin_of(window_end) + size <= end)
        ++window_end;
    const Frame drop =
        std::clamp<Frame>(begin_of(window_end) - waiting_first_, 0, end - waiting_first_);
    const std::size_t batch_first = batch_first_;
    for (std::size_t c = 0; c < tracks_.size(); ++c) {
        std::vector<float>& waiting = waiting_[c];
        const auto samples = block.channel(static_cast<int>(c));
        waiting.insert(waiting.end(), samples.begin(), samples.end());
        batch_first_ = batch_first;
        for (Frame window = next_; window < window_end; ++window) {
            const float* x = waiting.data() + (begin_of(window) - waiting_first_);
            float* out = windowed_[c].data() + slot(window) * window_size_;
            for (std::size_t i = 0; i < window_size_; ++i)
                out[i] = x[i] * window_[i];
            if (slot(window + 1) != 0) continue;
            transform(c, batch);
            batch_first_ = 0;
        }
        waiting.erase(waiting.begin(), waiting.begin() + drop);
    }
    next_ = window_end;
    waiting_first_ += drop;
}

std::vector<SpectrumTrack> SpectrumTracker::take() {
    for (std::size_t c = 0; c < tracks_.size(); ++c)
        transform(c, slot(next_)); // later slots belong to an earlier batch and are not read
    return std::exchange(tracks_, {});
}

} // namespace lull
