// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/third_octave.hpp"

#include "signal/butterworth.hpp"
#include "signal/internal/clones.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <new>
#include <numbers>

namespace lull {
namespace {

constexpr int lanes = 8; ///< channels side by side
constexpr int order = 4;
constexpr double lowest_hz = 25.0;
constexpr double highest_share = 0.4; ///< of the rate
constexpr double octave_share = 0.1;  ///< of an octave stream's rate: bands above it run there
constexpr int tile_frames = 512;
constexpr double settle_bandwidths = 3.0; ///< a filter has settled after so many 1/bandwidth

/// Half-band low-pass: every other tap but the middle is 0. Kaiser window (beta 8) over 35 taps:
/// flat within 0.001 dB to 0.125 of its rate, 80 dB down from 0.375 on.
constexpr int half_taps = 9; ///< distinct odd taps
constexpr int half_length = 4 * half_taps - 1;

double bessel0(double x) {
    double term = 1.0, sum = 1.0;
    for (int k = 1; k < 40; ++k) {
        term *= x / (2.0 * k) * (x / (2.0 * k));
        sum += term;
    }
    return sum;
}

std::array<float, half_taps> half_band() {
    constexpr double beta = 8.0;
    std::array<double, half_taps> taps{};
    double sum = 0.0;
    for (int i = 0; i < half_taps; ++i) {
        const int n = 2 * i + 1; // distance from the middle
        const double share = n / (half_length / 2 + 1.0);
        taps[static_cast<std::size_t>(i)] = std::sin(std::numbers::pi * n / 2.0) / (std::numbers::pi * n) *
                                            bessel0(beta * std::sqrt(1.0 - share * share)) / bessel0(beta);
        sum += 2.0 * taps[static_cast<std::size_t>(i)];
    }
    std::array<float, half_taps> scaled{};
    for (std::size_t i = 0; i < half_taps; ++i) scaled[i] = static_cast<float>(0.5 * taps[i] / sum);
    return scaled;
}

using Lanes = float __attribute__((vector_size(lanes * sizeof(float))));

/// The poles of one band, and the gain that makes it 1 at its middle: the zeros of every section
/// are at +-1, so nothing else is needed.
struct BandCoefficients {
    float gain = 1.0F;
    float a1[order] = {}, a2[order] = {};
};

struct alignas(sizeof(Lanes)) BandState {
    float one[order][lanes] = {}, two[order][lanes] = {};
};

/// One band over a tile of frames; adds the squares of what comes out to `sums`.
LULL_CLONES void run_band(const BandCoefficients& band, const float* tile, int frames, BandState& state,
                          double* sums) {
    Lanes z1[order], z2[order], squares = {};
    for (int s = 0; s < order; ++s) {
        z1[s] = *reinterpret_cast<const Lanes*>(state.one[s]);
        z2[s] = *reinterpret_cast<const Lanes*>(state.two[s]);
    }
    const auto* in = reinterpret_cast<const Lanes*>(tile);
    for (int n = 0; n < frames; ++n) {
        Lanes x = band.gain * in[n];
        for (int s = 0; s < order; ++s) {
            const Lanes y = x + z1[s];
            z1[s] = z2[s] - band.a1[s] * y;
            z2[s] = -x - band.a2[s] * y;
            x = y;
        }
        squares += x * x;
    }
    for (int s = 0; s < order; ++s)
        for (int l = 0; l < lanes; ++l) { // denormal arithmetic is slow: silence is exactly zero
            state.one[s][l] = std::fabs(z1[s][l]) < 1e-20F ? 0.0F : z1[s][l];
            state.two[s][l] = std::fabs(z2[s][l]) < 1e-20F ? 0.0F : z2[s][l];
        }
    for (int l = 0; l < lanes; ++l) sums[l] += static_cast<double>(squares[l]);
}

/// Halves the rate: out[n] is centred on in[2n + middle]. `in` holds half_length - 1 frames of
/// history before the first new one.
LULL_CLONES void halve(const float* in, float* out, int frames, const float* taps) {
    constexpr int middle = half_length / 2;
    auto* target = reinterpret_cast<Lanes*>(out);
    for (int n = 0; n < frames; ++n) {
        const Lanes* x = reinterpret_cast<const Lanes*>(in) + 2 * n + middle;
        Lanes sum = 0.5F * x[0];
        for (int i = 0; i < half_taps; ++i) sum += taps[i] * (x[2 * i + 1] + x[-(2 * i + 1)]);
        target[n] = sum;
    }
}

/// A vector whose data can be seen as whole lanes.
template <class T> struct LaneAllocator {
    using value_type = T;
    LaneAllocator() = default;
    template <class U> explicit LaneAllocator(const LaneAllocator<U>&) {}
    T* allocate(std::size_t n) { return static_cast<T*>(::operator new(n * sizeof(T), std::align_val_t{sizeof(Lanes)})); }
    void deallocate(T* p, std::size_t) { ::operator delete(p, std::align_val_t{sizeof(Lanes)}); }
    bool operator==(const LaneAllocator&) const { return true; }
};
using LaneVector = std::vector<float, LaneAllocator<float>>;

} // namespace

std::vector<double> third_octave_centres(double low_hz, double high_hz) {
    std::vector<double> centres;
    const auto first = static_cast<int>(std::ceil(10.0 * std::log10(low_hz / 1000.0) - 0.5));
    for (int x = first;; ++x) {
        const double mid = 1000.0 * std::pow(10.0, x / 10.0);
        if (mid > high_hz * std::pow(10.0, 0.05)) return centres;
        centres.push_back(mid);
    }
}

/// One stream of the cascade: its bands, and the filter that feeds the next one.
struct ThirdOctaveBank::Octave {
    struct BandFilter {
        BandCoefficients coefficients;
        BandState state;
        std::size_t band = 0;
        double sums[lanes] = {};
    };
    std::vector<BandFilter> bands;
    Frame step = 1;   ///< frames of this stream in a step
    Frame in_step = 0;
    LaneVector history; ///< half_length - 1 frames, then what came
};

struct ThirdOctaveBank::Group {
    int first = 0, used = 0;
    float offset[lanes] = {}; ///< first sample of each channel: without it no record begins with a jump
    std::vector<Octave> octaves;
    std::vector<BandTrack> tracks;
    LaneVector tile;
};

ThirdOctaveBank::ThirdOctaveBank(int channels, double rate_hz, Frame first)
    : channels_(channels), rate_hz_(rate_hz), at_(first) {
    // The top of the range, exactly: a band belongs to it when its mid-band does.
    std::vector<double> centres = third_octave_centres(lowest_hz, highest_share * rate_hz);
    while (!centres.empty() && centres.back() > highest_share * rate_hz) centres.pop_back();
    int octaves = 1;
    while (lowest_hz < octave_share * rate_hz / std::ldexp(1.0, octaves - 1)) ++octaves;
    const Frame grain = Frame{1} << (octaves - 1);
    step_ = std::max<Frame>(1, std::llround(third_octave_step_s * rate_hz / static_cast<double>(grain))) * grain;
    const Frame begin = (first + step_ - 1) / step_ * step_;
    for (int c = 0; c < channels; c += lanes) {
        auto group = std::make_unique<Group>();
        group->first = c;
        group->used = std::min(lanes, channels - c);
        group->octaves.resize(static_cast<std::size_t>(octaves));
        BandTrack track;
        track.first = begin;
        track.hop = step_;
        track.mid_hz = centres;
        track.power.resize(centres.size());
        group->tracks.assign(static_cast<std::size_t>(group->used), track);
        for (int o = 0; o < octaves; ++o) {
            Octave& octave = group->octaves[static_cast<std::size_t>(o)];
            octave.step = step_ >> o;
            octave.history.assign(static_cast<std::size_t>((half_length - 1) * lanes), 0.0F);
        }
        for (std::size_t b = 0; b < centres.size(); ++b) {
            int o = 0;
            while (o + 1 < octaves && centres[b] <= octave_share * rate_hz / std::ldexp(1.0, o)) ++o;
            Octave::BandFilter filter;
            filter.band = b;
            const double edge = std::pow(10.0, 0.05);
            const Sections sections = butterworth_bandpass(order, {centres[b] / edge, centres[b] * edge},
                                                           rate_hz / std::ldexp(1.0, o));
            double gain = 1.0;
            for (std::size_t s = 0; s < sections.size(); ++s) {
                gain *= sections[s].b0;
                filter.coefficients.a1[s] = static_cast<float>(sections[s].a1);
                filter.coefficients.a2[s] = static_cast<float>(sections[s].a2);
            }
            filter.coefficients.gain = static_cast<float>(gain);
            group->octaves[static_cast<std::size_t>(o)].bands.push_back(std::move(filter));
        }
        groups_.push_back(std::move(group));
    }
}

ThirdOctaveBank::~ThirdOctaveBank() = default;
ThirdOctaveBank::ThirdOctaveBank(ThirdOctaveBank&&) noexcept = default;

void ThirdOctaveBank::push_group(Group& group, const Block& block, Frame from, Frame count) {
    static const std::array<float, half_taps> taps = half_band();
    for (Frame at = 0; at < count;) {
        // A tile never crosses a step of the full-rate stream, nor breaks a pair of any octave but
        // at its end, where the history keeps what is left over.
        const Frame left = group.octaves[0].step - group.octaves[0].in_step;
        int frames = static_cast<int>(std::min<Frame>({tile_frames, count - at, left}));
        group.tile.assign(static_cast<std::size_t>(frames * lanes), 0.0F);
        for (int l = 0; l < group.used; ++l) {
            const float* x = block.channel(group.first + l).data() + from + at;
            for (int n = 0; n < frames; ++n) group.tile[static_cast<std::size_t>(n * lanes + l)] = x[n] - group.offset[l];
        }
        at += frames;
        for (Octave& octave : group.octaves) {
            if (frames == 0) break;
            for (auto& band : octave.bands)
                run_band(band.coefficients, group.tile.data(), frames, band.state, band.sums);
            octave.in_step += frames;
            if (octave.in_step >= octave.step) {
                octave.in_step = 0;
                for (auto& band : octave.bands)
                    for (int l = 0; l < group.used; ++l) {
                        group.tracks[static_cast<std::size_t>(l)].power[band.band].push_back(
                            static_cast<float>(band.sums[l] / static_cast<double>(octave.step)));
                        band.sums[l] = 0.0;
                    }
            }
            if (&octave == &group.octaves.back()) break;
            octave.history.insert(octave.history.end(), group.tile.begin(), group.tile.end());
            const int fresh = static_cast<int>(octave.history.size()) / lanes - (half_length - 1);
            frames = fresh / 2;
            group.tile.resize(static_cast<std::size_t>(frames * lanes));
            halve(octave.history.data(), group.tile.data(), frames, taps.data());
            octave.history.erase(octave.history.begin(), octave.history.begin() + 2 * frames * lanes);
        }
    }
}

void ThirdOctaveBank::push(const Block& block) {
    if (channels_ == 0 || block.frames == 0) return;
    const Frame begin = groups_.front()->tracks.front().first;
    const Frame from = std::clamp<Frame>(begin - at_, 0, block.frames);
    if (!begun_ && from < block.frames) {
        for (auto& group : groups_)
            for (int l = 0; l < group->used; ++l)
                group->offset[l] = block.channel(group->first + l)[static_cast<std::size_t>(from)];
        begun_ = true;
    }
    for (auto& group : groups_) push_group(*group, block, from, block.frames - from);
    at_ += block.frames;
}

std::vector<BandTrack> ThirdOctaveBank::take() {
    std::vector<BandTrack> tracks;
    for (auto& group : groups_)
        for (BandTrack& track : group->tracks) {
            for (std::size_t b = 0; b < track.mid_hz.size(); ++b) {
                const double bandwidth_hz = track.mid_hz[b] * (std::pow(10.0, 0.05) - std::pow(10.0, -0.05));
                const auto settling = static_cast<std::size_t>(
                    std::ceil(settle_bandwidths / bandwidth_hz * rate_hz_ / static_cast<double>(step_)));
                std::fill_n(track.power[b].begin(), std::min(settling, track.power[b].size()),
                            std::numeric_limits<float>::quiet_NaN());
            }
            tracks.push_back(std::move(track));
        }
    groups_.clear();
    channels_ = 0;
    return tracks;
}

} // namespace lull
