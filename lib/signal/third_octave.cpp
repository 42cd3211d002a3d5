// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/third_octave.hpp"

#include "clones.hpp"
#include "signal/internal/half_band.hpp"
#include "signal/internal/third_octave_band.hpp"
#include "signal/internal/transpose.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <limits>

namespace lull {
namespace {

constexpr int lanes = float_lanes; ///< channels side by side
constexpr double lowest_hz = 25.0;
constexpr double highest_share = 0.4; ///< of the rate
/// of an octave stream's rate; higher bands run on this stream
constexpr double octave_share = 0.1;
constexpr int tile_frames = 512;
constexpr double settle_bandwidths = 3.0; ///< a filter has settled after so many 1/bandwidth
const double half_band_ratio = std::pow(10.0, 0.05); ///< upper edge over mid-band, base ten

/// Puts `frames` of the channels side by side, each minus its offset. A lane without a channel is
/// 0.
LULL_CLONES void to_lanes(const float* const* channels, const float* offset, int used, int frames,
                          float* tile) {
    int n = 0;
    FloatLanes less = {};
    for (int l = 0; l < used; ++l)
        less[l] = offset[l];
    for (; n + lanes <= frames; n += lanes) {
        FloatLanes rows[lanes] = {};
        for (int l = 0; l < used; ++l)
            std::memcpy(&rows[l], channels[l] + n, sizeof rows[l]);
        transpose(rows);
        for (int k = 0; k < lanes; ++k) {
            const FloatLanes row = rows[k] - less;
            std::memcpy(tile + (n + k) * lanes, &row, sizeof row);
        }
    }
    for (; n < frames; ++n)
        for (int l = 0; l < used; ++l)
            tile[n * lanes + l] = channels[l][n] - offset[l];
}

/// The mid-bands from 25 Hz to 0.4 of the rate.
std::vector<double> bank_centres(double rate_hz) {
    std::vector<double> centres = third_octave_centres(lowest_hz, highest_share * rate_hz);
    while (!centres.empty() && centres.back() > highest_share * rate_hz)
        centres.pop_back();
    return centres;
}

int octaves_of(double rate_hz) {
    int octaves = 1;
    while (lowest_hz < octave_share * std::ldexp(rate_hz, 1 - octaves))
        ++octaves;
    return octaves;
}

std::size_t octave_of(double mid_hz, double rate_hz, int octaves) {
    int octave = 0;
    while (octave + 1 < octaves && mid_hz <= octave_share * std::ldexp(rate_hz, -octave))
        ++octave;
    return static_cast<std::size_t>(octave);
}

std::size_t samples_of(int frames) {
    return static_cast<std::size_t>(frames * lanes);
}

} // namespace

std::vector<double> third_octave_centres(double low_hz, double high_hz) {
    std::vector<double> centres;
    const auto first = static_cast<int>(std::ceil(10.0 * std::log10(low_hz / 1000.0) - 0.5));
    for (int x = first;; ++x) {
        const double mid_hz = 1000.0 * std::pow(10.0, x / 10.0);
        if (mid_hz > high_hz * half_band_ratio) return centres;
        centres.push_back(mid_hz);
    }
}

/// One stream of the cascade: its bands, and the state of the filter that feeds the next stream.
struct ThirdOctaveBank::Octave {
    std::vector<ThirdOctaveBand> bands;
    Frame step = 1; ///< frames of this stream in a step
    Frame in_step = 0;
    LaneVector history; ///< half_band_length - 1 earlier frames, then new ones
};

struct ThirdOctaveBank::Group {
    int first = 0, used = 0;
    std::array<float, lanes>
        offset{}; ///< first sample of each channel, subtracted so that records begin without a jump
    std::vector<Octave> octaves;
    std::vector<BandTrack> tracks;
    LaneVector tile; ///< of the full-rate stream, filled up to `filled` frames
    int filled = 0;
    LaneVector halved;
};

ThirdOctaveBank::ThirdOctaveBank(int channels, double rate_hz, Frame first)
    : channels_(channels), at_(first) {
    const int octaves = octaves_of(rate_hz);
    // so that every stream has whole frames in a step
    const Frame grain = Frame{1} << (octaves - 1);
    step_ = grain * std::max<Frame>(1, std::llround(third_octave_step_s * rate_hz /
                                                    static_cast<double>(grain)));
    BandTrack track;
    track.first = (first + step_ - 1) / step_ * step_;
    track.hop = step_;
    track.mid_hz = bank_centres(rate_hz);
    track.power.resize(track.mid_hz.size());
    for (const double mid_hz : track.mid_hz)
        track.settling.push_back(static_cast<Frame>(std::ceil(
            settle_bandwidths * rate_hz / (mid_hz * (half_band_ratio - 1.0 / half_band_ratio)))));
    Group group;
    group.tile.resize(samples_of(tile_frames));
    for (int o = 0; o < octaves; ++o) {
        Octave octave;
        octave.step = step_ >> o;
        octave.history.assign(samples_of(half_band_length - 1), 0.0F);
        group.octaves.push_back(std::move(octave));
    }
    for (std::size_t b = 0; b < track.mid_hz.size(); ++b) {
        const std::size_t o = octave_of(track.mid_hz[b], rate_hz, octaves);
        group.octaves[o].bands.emplace_back(b, track.mid_hz[b],
                                            std::ldexp(rate_hz, -static_cast<int>(o)));
    }
    for (int c = 0; c < channels; c += lanes) {
        group.first = c;
        group.used = std::min(lanes, channels - c);
        group.tracks.assign(static_cast<std::size_t>(group.used), track);
        groups_.push_back(std::make_unique<Group>(group));
    }
}

ThirdOctaveBank::~ThirdOctaveBank() = default;
ThirdOctaveBank::ThirdOctaveBank(ThirdOctaveBank&&) noexcept = default;

/// Ends a step of one stream: writes the sums of its bands to the tracks.
void ThirdOctaveBank::end_step(Group& group, Octave& octave) {
    octave.in_step = 0;
    for (ThirdOctaveBand& band : octave.bands)
        for (int l = 0; l < group.used; ++l) {
            group.tracks[static_cast<std::size_t>(l)].power[band.band].push_back(
                static_cast<float>(band.sums[l] / static_cast<double>(octave.step)));
            band.sums[l] = 0.0;
        }
}

/// Sends a tile of the full-rate stream down the octaves.
void ThirdOctaveBank::run_tile(Group& group) {
    static const std::array<float, half_band_pairs> taps = half_band_taps();
    const float* tile = group.tile.data();
    int frames = group.filled;
    group.filled = 0;
    for (Octave& octave : group.octaves) {
        run_bands(octave.bands, tile, frames);
        octave.in_step += frames;
        if (octave.in_step == octave.step) end_step(group, octave);
        if (&octave == &group.octaves.back()) break;
        octave.history.insert(octave.history.end(), tile, tile + samples_of(frames));
        const int fresh = static_cast<int>(octave.history.size()) / lanes - (half_band_length - 1);
        frames = fresh / 2;
        if (frames == 0) break;
        group.halved.resize(samples_of(frames));
        halve(octave.history.data(), group.halved.data(), frames, taps.data());
        octave.history.erase(octave.history.begin(),
                             octave.history.begin() +
                                 static_cast<std::ptrdiff_t>(samples_of(2 * frames)));
        tile = group.halved.data();
    }
}

/// Tiles lie on a raster within the step, so that any blocks give the same bytes.
void ThirdOctaveBank::push_group(Group& group, const Block& block, Frame from) {
    for (Frame at = from; at < block.frames;) {
        const Octave& full = group.octaves.front();
        const Frame whole = std::min<Frame>(tile_frames, full.step - full.in_step);
        const int count = static_cast<int>(std::min(whole - group.filled, block.frames - at));
        std::array<const float*, lanes> from_channels{};
        for (int l = 0; l < group.used; ++l)
            from_channels[static_cast<std::size_t>(l)] = block.channel(group.first + l).data() + at;
        to_lanes(from_channels.data(), group.offset.data(), group.used, count,
                 group.tile.data() + samples_of(group.filled));
        at += count;
        group.filled += count;
        if (group.filled == whole) run_tile(group);
    }
}

void ThirdOctaveBank::push(const Block& block) {
    if (channels_ == 0 || block.frames == 0) return;
    const Frame begin = groups_.front()->tracks.front().first;
    const Frame from = std::clamp<Frame>(begin - at_, 0, block.frames);
    if (!begun_ && from < block.frames) {
        for (auto& group : groups_)
            for (int l = 0; l < group->used; ++l)
                group->offset[static_cast<std::size_t>(l)] =
                    block.channel(group->first + l)[static_cast<std::size_t>(from)];
        begun_ = true;
    }
    for (auto& group : groups_)
        push_group(*group, block, from);
    at_ += block.frames;
}

std::vector<BandTrack> ThirdOctaveBank::take() {
    std::vector<BandTrack> tracks;
    for (auto& group : groups_)
        for (BandTrack& track : group->tracks) {
            for (std::size_t b = 0; b < track.mid_hz.size(); ++b) {
                const auto settling =
                    static_cast<std::size_t>((track.settling[b] + step_ - 1) / step_);
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
