// SPDX-License-Identifier: GPL-3.0-or-later
//
// From samples in memory to arrivals, events and series, by the same parts as the review's pass.
#pragma once

#include "detect/arrivals.hpp"
#include "detect/join.hpp"
#include "detect/series.hpp"
#include "noise/floor.hpp"
#include "signal/butterworth.hpp"
#include "signal/level_tracker.hpp"
#include "signal/section_filter.hpp"
#include "signal/spectrum_tracker.hpp"

#include <algorithm>
#include <vector>

namespace lull::test {

/// Planar samples, all channels of one length.
using Samples = std::vector<std::vector<float>>;

class Listening {
  public:
    Listening(const Samples& samples, double rate_hz, std::vector<Channel> channels = {})
        : rate_hz_(rate_hz), band_(default_band(rate_hz)), channels_(std::move(channels)) {
        channels_.resize(samples.size());
        raw_.channels = static_cast<int>(samples.size());
        raw_.frames = static_cast<Frame>(samples.front().size());
        for (const std::vector<float>& channel : samples)
            raw_.samples.insert(raw_.samples.end(), channel.begin(), channel.end());
        passed_ = raw_;
        SectionFilter filter(butterworth_bandpass(4, band_, rate_hz), raw_.channels);
        filter.prime(passed_);
        filter.push(passed_);
        make_tracks();
    }

    /// Arrivals with onset in [from, to) frames.
    std::vector<Arrival> arrivals(Frame from, Frame to) { return find_arrivals(unit(from, to)); }
    std::vector<Arrival> arrivals() { return arrivals(0, raw_.frames); }

    std::vector<Event> events() {
        std::vector<Event> events = join_events(arrivals(), session, channels_);
        series = find_series(events);
        return events;
    }

    [[nodiscard]] const std::vector<ChannelTracks>& tracks() const { return tracks_; }

    Session session;
    std::vector<Series> series; ///< of the last call of events()
    Frame decoded = 0;          ///< frames asked for so far

  private:
    UnitInput unit(Frame from, Frame to) {
        UnitInput unit;
        unit.rate_hz = rate_hz_;
        unit.band = band_;
        unit.band_delay_s =
            delay_at_zero(butterworth_lowpass(4, band_.high_hz, rate_hz_)) / rate_hz_;
        unit.core_begin = from;
        unit.core_end = to;
        unit.channels = tracks_;
        unit.band_passed = [this](Frame first, Frame count) -> const Block& {
            return cut(passed_, first, count);
        };
        unit.raw = [this](Frame first, Frame count) -> const Block& {
            return cut(raw_, first, count);
        };
        return unit;
    }

    void make_tracks() {
        LevelTracker level(raw_.channels, rate_hz_, 0);
        SpectrumTracker spectrum(raw_.channels, rate_hz_, 0);
        level.push(passed_);
        spectrum.push(raw_);
        std::vector<LevelTrack> levels = level.take();
        std::vector<SpectrumTrack> spectra = spectrum.take();
        for (std::size_t c = 0; c < levels.size(); ++c) {
            ChannelTracks tracks;
            tracks.channel = &channels_[c];
            tracks.floor = noise_floor(levels[c], rate_hz_);
            tracks.band_floor = band_floors(spectra[c], rate_hz_);
            tracks.level = std::move(levels[c]);
            tracks.spectrum = std::move(spectra[c]);
            tracks_.push_back(std::move(tracks));
        }
    }

    const Block& cut(const Block& from, Frame first, Frame count) {
        first = std::clamp<Frame>(first, 0, from.frames);
        count = std::clamp<Frame>(count, 0, from.frames - first);
        decoded += count;
        stretch_.first = first;
        stretch_.frames = count;
        stretch_.channels = from.channels;
        stretch_.samples.clear();
        for (int c = 0; c < from.channels; ++c) {
            const std::span<const float> all = from.channel(c);
            stretch_.samples.insert(stretch_.samples.end(), all.begin() + first,
                                    all.begin() + first + count);
        }
        return stretch_;
    }

    double rate_hz_;
    Band band_;
    std::vector<Channel> channels_;
    Block raw_, passed_, stretch_;
    std::vector<ChannelTracks> tracks_;
};

} // namespace lull::test
