// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/unit_pass.hpp"

#include "detect/arrivals.hpp"
#include "health/automatic_gain.hpp"
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
#include <utility>

namespace lull {
namespace {

constexpr int band_pass_order = 4;     ///< per edge
constexpr double settle_periods = 3.0; ///< of the lower edge: the band-pass forgets 30 dB and more
constexpr Frame block_frames = 8192;   ///< six channels of it stay in a core's own cache

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
        : filter(band_pass, channels),
          level(channels, rate_hz, unit.read_begin, unit.read_end - unit.read_begin) {
        const Frame first = unit.read_begin;
        if (hears(wanted)) spectrum.emplace(channels, rate_hz, first, unit.read_end - first);
        if (wanted.health) health.emplace(channels, rate_hz, air);
        if (wanted.noise) third_octaves.emplace(channels, rate_hz, first);
    }
    SectionFilter filter;
    LevelTracker level;
    std::optional<SpectrumTracker> spectrum;
    std::optional<HealthMeter> health;
    std::optional<ThirdOctaveBank> third_octaves;
    std::vector<LevelTrack> levels; ///< once the stream has ended
    std::vector<Run> missing;       ///< no file has data, or it is damaged
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
        for (const std::vector<Run>* runs : {&block_.missing, &block_.lost})
            meters.missing.insert(meters.missing.end(), runs->begin(), runs->end());
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
        floors.push_back(level_floor(level, c, meters.missing));
        result.courses.push_back(make_course(level, floors.back(), unit.core_begin, unit.core_end));
    }
    if (meters.health) {
        result.health = meters.health->finish();
        for (std::size_t c = 0; c < result.health.size(); ++c)
            note_gain_dips(meters.levels[c], recording_->rate_hz, unit.core_begin, unit.core_end,
                           result.health[c]);
    }
    if (meters.third_octaves) result.levels = measure_levels(unit, meters);
    if (meters.spectrum && !stop) hear(unit, meters, floors, result);
    return result;
}

/// Where the gain was turned, the floor is that of one gain all along, read as each time reads it.
FloorTrack UnitPass::level_floor(const LevelTrack& level, int channel,
                                 const std::vector<Run>& missing) const {
    const ScaleChanges changes(*recording_, channel, settings_.from);
    std::vector<float> referred;
    if (!changes.none()) {
        referred = level.power;
        refer_powers(referred, 1, level.first, level.hop, changes, settling());
    }
    FloorTrack floor =
        noise_floor(changes.none() ? std::span(level.power) : std::span(std::as_const(referred)),
                    level.first, level.hop, recording_->rate_hz, runs_of(missing, channel));
    unrefer_floor(floor, changes);
    return floor;
}

std::vector<FloorTrack> UnitPass::floors_of_bands(const SpectrumTrack& spectrum, int channel,
                                                  const std::vector<Run>& missing) const {
    const std::vector<Run> own = runs_of(missing, channel);
    const ScaleChanges changes(*recording_, channel, settings_.from);
    if (changes.none()) return band_floors(spectrum, recording_->rate_hz, own);
    SpectrumTrack referred = spectrum;
    // The window of a spectrum is two hops long and centred.
    refer_powers(referred.power, referred.bands(), referred.first - referred.hop, referred.hop,
                 changes, 2 * referred.hop);
    std::vector<FloorTrack> floors = band_floors(referred, recording_->rate_hz, own);
    for (FloorTrack& floor : floors)
        unrefer_floor(floor, changes);
    return floors;
}

Frame UnitPass::settling() const {
    return static_cast<Frame>(
        std::ceil(settle_periods * recording_->rate_hz / settings_.band.low_hz));
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
        const ScaleChanges changes(*recording_, index, settings_.from);
        BandLevels channel(track.mid_hz, settings_.from, settings_.to, interval);
        for (std::size_t band = 0; band < track.mid_hz.size(); ++band) {
            refer_powers(track.power[band], 1, track.first, track.hop, changes,
                         track.settling[band]);
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

void UnitPass::hear(const Unit& unit, Meters& meters, const std::vector<FloorTrack>& floors,
                    UnitResult& result) {
    std::vector<SpectrumTrack> spectra = meters.spectrum->take();
    std::vector<ChannelTracks> tracks;
    for (std::size_t c = 0; c < spectra.size(); ++c) {
        ChannelTracks channel;
        channel.channel = &recording_->channels[c];
        channel.level = std::move(meters.levels[c]);
        channel.floor = floors[c];
        channel.band_floor = floors_of_bands(spectra[c], static_cast<int>(c), meters.missing);
        channel.spectrum = std::move(spectra[c]);
        tracks.push_back(std::move(channel));
        if (wanted_.scores)
            result.scores.push_back(
                running_scores(tracks.back(), recording_->rate_hz, unit.core_begin, unit.core_end));
    }
    StretchReader banded(*stream_, band_pass_, recording_->rate_hz);
    StretchReader raw(*stream_, {}, recording_->rate_hz);
    const double rate_hz = recording_->rate_hz;
    const double delay_s =
        delay_at_zero(butterworth_lowpass(band_pass_order, settings_.band.high_hz, rate_hz)) /
        rate_hz;
    result.arrivals =
        find_arrivals({recording_->rate_hz, settings_.band, unit.core_begin, unit.core_end, tracks,
                       banded.as_function(), delay_s, raw.as_function()});
}

} // namespace lull
