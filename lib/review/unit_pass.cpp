// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/unit_pass.hpp"

#include "detect/arrivals.hpp"
#include "noise/floor.hpp"
#include "noise/scale_changes.hpp"
#include "review/stretch.hpp"
#include "signal/butterworth.hpp"
#include "signal/level_tracker.hpp"
#include "signal/section_filter.hpp"
#include "signal/spectrum_tracker.hpp"
#include "signal/third_octave.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <optional>

namespace lull {
namespace {

constexpr int band_pass_order = 4;   ///< per edge
constexpr Frame block_frames = 8192; ///< six channels of it stay in a core's own cache

std::vector<Run> runs_of(const std::vector<Run>& runs, int channel) {
    std::vector<Run> own;
    std::ranges::copy_if(runs, std::back_inserter(own),
                         [channel](const Run& run) { return run.channel == channel; });
    return own;
}

} // namespace

/// The consumers of the one pass, fed block by block.
struct UnitPass::Meters {
    Meters(const Sections& band_pass, int channels, double rate_hz, const Unit& unit,
           const Wanted& wanted, const std::vector<bool>& air)
        : filter(band_pass, channels), level(channels, rate_hz, unit.read_begin) {
        const Frame first = unit.read_begin;
        if (wanted.events || wanted.quiet)
            spectrum.emplace(channels, rate_hz, first, unit.read_end - first);
        if (wanted.health) health.emplace(channels, rate_hz, air);
        if (wanted.noise) third_octaves.emplace(channels, rate_hz, first);
    }
    SectionFilter filter;
    LevelTracker level;
    std::optional<SpectrumTracker> spectrum;
    std::optional<HealthMeter> health;
    std::optional<ThirdOctaveBank> third_octaves;
    std::vector<LevelTrack> levels; ///< once the stream has ended
    std::vector<Run> missing;
};

Sections analysis_filter(Band band, double rate_hz) {
    return butterworth_bandpass(band_pass_order, band, rate_hz);
}

UnitPass::UnitPass(const Recording& recording, const Settings& settings, const Wanted& wanted)
    : recording_(&recording), settings_(settings), wanted_(wanted),
      band_pass_(analysis_filter(settings.band, recording.rate_hz)), stream_(recording.open()) {}

void UnitPass::stream_unit(const Unit& unit, Meters& meters, const std::atomic<bool>& stop) {
    for (Frame at = unit.read_begin; at < unit.read_end && !stop;) {
        stream_->read(at, std::min(block_frames, unit.read_end - at), block_);
        if (block_.frames == 0) break;
        if (meters.health) meters.health->push(block_, unit.core_begin, unit.core_end);
        if (meters.third_octaves) meters.third_octaves->push(block_);
        if (meters.spectrum) meters.spectrum->push(block_);
        if (at == unit.read_begin) meters.filter.prime(block_);
        meters.filter.push(block_);
        meters.level.push(block_);
        meters.missing.insert(meters.missing.end(), block_.missing.begin(), block_.missing.end());
        at += block_.frames;
    }
    meters.levels = meters.level.take();
}

UnitResult UnitPass::run(const Unit& unit, const std::atomic<bool>& stop) {
    const int channels = static_cast<int>(recording_->channels.size());
    std::vector<bool> air;
    for (const Channel& channel : recording_->channels)
        air.push_back(channel.kind == ChannelKind::air);
    Meters meters(band_pass_, channels, recording_->rate_hz, unit, wanted_, air);
    stream_unit(unit, meters, stop);

    UnitResult result;
    std::vector<FloorTrack> floors;
    for (int c = 0; c < channels; ++c) {
        const LevelTrack& level = meters.levels[static_cast<std::size_t>(c)];
        floors.push_back(noise_floor(level, recording_->rate_hz, runs_of(meters.missing, c)));
        result.courses.push_back(make_course(level, floors.back(), unit.core_begin, unit.core_end));
    }
    if (meters.health) result.health = meters.health->finish();
    if (meters.third_octaves) result.levels = measure_levels(unit, meters);
    if (meters.spectrum && !stop) result.arrivals = hear(unit, meters, floors);
    return result;
}

std::vector<BandLevels> UnitPass::measure_levels(const Unit& unit, Meters& meters) const {
    const Frame interval =
        settings_.every_s
            ? static_cast<Frame>(std::llround(*settings_.every_s * recording_->rate_hz))
            : 0;
    std::vector<BandLevels> levels;
    for (BandTrack& track : meters.third_octaves->take()) {
        const int index = static_cast<int>(levels.size());
        const std::vector<Run> missing = runs_of(meters.missing, index);
        refer_powers(track.power, track.first, track.hop,
                     ScaleChanges(*recording_, index, settings_.from));
        BandLevels channel(track.mid_hz, settings_.from, settings_.to, interval);
        for (std::size_t band = 0; band < track.mid_hz.size(); ++band) {
            const double bandwidth_hz =
                track.mid_hz[band] * (std::pow(10.0, 0.05) - std::pow(10.0, -0.05));
            const FloorTrack floor = noise_floor(track.power[band], track.first, track.hop,
                                                 recording_->rate_hz, missing, bandwidth_hz);
            channel.add(band, track.power[band], track.first, track.hop, floor, unit.core_begin,
                        unit.core_end);
        }
        levels.push_back(std::move(channel));
    }
    return levels;
}

std::vector<Arrival> UnitPass::hear(const Unit& unit, Meters& meters,
                                    const std::vector<FloorTrack>& floors) {
    std::vector<SpectrumTrack> spectra = meters.spectrum->take();
    std::vector<ChannelTracks> tracks;
    for (std::size_t c = 0; c < spectra.size(); ++c) {
        ChannelTracks channel;
        channel.channel = &recording_->channels[c];
        channel.level = std::move(meters.levels[c]);
        channel.floor = floors[c];
        channel.band_floor = band_floors(spectra[c], recording_->rate_hz,
                                         runs_of(meters.missing, static_cast<int>(c)));
        channel.spectrum = std::move(spectra[c]);
        tracks.push_back(std::move(channel));
    }
    StretchReader banded(*stream_, band_pass_, recording_->rate_hz);
    StretchReader raw(*stream_, {}, recording_->rate_hz);
    return find_arrivals({recording_->rate_hz, settings_.band, unit.core_begin, unit.core_end,
                          tracks, banded.as_function(), raw.as_function()});
}

} // namespace lull
