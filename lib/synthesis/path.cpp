// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/path.hpp"

#include "signal/fft.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

using std::numbers::pi;

constexpr double radiated = 0.5; ///< of a knock's amplitude, into the air [practice]
constexpr double entered = 0.25; ///< of a voice's amplitude, into the structure [practice]
constexpr double entered_lowpass_hz = 500.0;
constexpr double lead_frames = 32.0; ///< room for the ringing of fractional delays

/// Random properties of the ground between a place and a sensor: those of the corners of a lattice,
/// weighted by nearness. Knocks at one place share them, neighbours share most, and distant places
/// nothing.
std::vector<GroundPart> ground_between(const Layout& layout, const Position& source,
                                       std::size_t channel) {
    std::vector<GroundPart> parts;
    const double x = source[0] / ground_alike_m, y = source[1] / ground_alike_m;
    for (const double along : {0.0, 1.0})
        for (const double up : {0.0, 1.0}) {
            const double column = std::floor(x) + along, row = std::floor(y) + up;
            const double share = (1.0 - std::abs(x - column)) * (1.0 - std::abs(y - row));
            if (share < 1e-9) continue;
            Random random = layout.paths.child(channel);
            for (const double corner : {column, row, std::round(source[2] / ground_alike_m)})
                random = random.child(static_cast<std::uint64_t>(std::llround(corner)));
            parts.push_back({random, std::sqrt(share)});
        }
    return parts;
}

double mixed_normal(std::vector<GroundPart>& parts) {
    double sum = 0.0;
    for (GroundPart& part : parts)
        sum += part.weight * part.random.normal();
    return sum;
}

double speed_share(const Path& path, double frequency_hz) {
    const double ratio = std::max(frequency_hz, reference_hz / 16.0) / reference_hz;
    return std::max(0.3, 1.0 + path.dispersion * std::log(ratio));
}

/// How much earlier than the reference the fastest waves arrive.
double dispersion_lead_s(const Path& path, double rate_hz) {
    const double fastest = std::max(speed_share(path, 0.5 * rate_hz), speed_share(path, 0.0));
    return 2.0 * path.delay_s * std::max(0.0, 1.0 - 1.0 / fastest);
}

double dispersion_lag_s(const Path& path, double rate_hz) {
    const double slowest = std::min(speed_share(path, 0.5 * rate_hz), speed_share(path, 0.0));
    return 2.0 * path.delay_s * std::max(0.0, 1.0 / slowest - 1.0);
}

/// Multiplies by 1 plus the transform of an exponentially decaying noise with the path's tail
/// energy.
void multiply_tail(const Path& path, const RealFft& fft, double rate_hz,
                   std::vector<std::complex<float>>& bins) {
    if (path.tail_decay_s <= 0.0 || path.tail_energy <= 0.0) return;
    std::vector<float> tail(fft.size(), 0.0F);
    const auto length =
        std::min(tail.size(), static_cast<std::size_t>(path.tail_decay_s * rate_hz));
    const double fall = std::exp(-3.0 * std::numbers::ln10 / (path.tail_decay_s * rate_hz));
    std::vector<GroundPart> ground = path.tail;
    double amplitude = 1.0, energy = 0.0;
    for (std::size_t n = 1; n < length; ++n) {
        amplitude *= fall;
        const double value = amplitude * mixed_normal(ground);
        tail[n] = static_cast<float>(value);
        energy += value * value;
    }
    if (energy <= 0.0) return;
    const auto scale = static_cast<float>(std::sqrt(path.tail_energy / energy));
    std::vector<std::complex<float>> spectrum(fft.bins());
    fft.forward(tail, spectrum);
    for (std::size_t k = 0; k < bins.size(); ++k)
        bins[k] *= 1.0F + scale * spectrum[k];
}

} // namespace

double sound_speed_m_s(double temperature_c) {
    return 343.2 * std::sqrt((temperature_c + 273.15) / 293.15);
}

Layout draw_layout(const Plan& plan, Random random) {
    Layout layout;
    Random ground = random.child("ground");
    layout.speed_m_s = ground.between(plan.structure.speed_m_s.low, plan.structure.speed_m_s.high);
    layout.paths = random.child("paths");
    for (std::size_t c = 0; c < plan.channels.size(); ++c) {
        Random sensor = random.child("sensor").child(c);
        const PlanChannel& channel = plan.channels[c];
        double contact = sensor.between(channel.contact.low, channel.contact.high);
        // A sensor that is moved gets a new contact, so only the first station of a name has the
        // fault.
        const bool first = std::none_of(
            plan.channels.begin(), plan.channels.begin() + static_cast<std::ptrdiff_t>(c),
            [&](const PlanChannel& other) { return other.name == channel.name; });
        for (const PlanFault& fault : plan.faults) {
            if (fault.kind == FaultKind::badly_seated && fault.channel == channel.name && first)
                contact = fault.contact;
        }
        layout.contact.push_back(channel.kind == ChannelKind::air ? 1.0 : contact);
    }
    return layout;
}

Path path_between(const Plan& plan, const Layout& layout, const Position& source, bool in_air,
                  std::size_t channel) {
    const PlanChannel& sensor = plan.channels[channel];
    const bool through_air = sensor.kind == ChannelKind::air;
    Path path;
    path.distance_m = std::max(nearest_m, std::hypot(source[0] - sensor.position_m[0],
                                                     source[1] - sensor.position_m[1],
                                                     source[2] - sensor.position_m[2]));
    std::vector<GroundPart> ground = ground_between(layout, source, channel);
    for (const GroundPart& part : ground)
        path.tail.push_back({part.random.child("tail"), part.weight});
    path.contact = layout.contact[channel];
    double tail_db = plan.air.tail_db;
    double coupling = 1.0;
    if (through_air) {
        path.delay_s = path.distance_m / sound_speed_m_s(plan.air.temperature_c);
        path.gain = 1.0 / path.distance_m;
        path.attenuation_s =
            plan.air.absorption_db_m * path.distance_m * std::numbers::ln10 / 20.0 / (pi * 1000.0);
        path.tail_decay_s = plan.air.tail_decay_s;
        coupling = in_air ? 1.0 : radiated;
    } else {
        const Structure& structure = plan.structure;
        const double uneven =
            std::clamp(1.0 + structure.speed_spread * mixed_normal(ground), 0.3, 2.0);
        path.delay_s = path.distance_m / (layout.speed_m_s * uneven);
        path.gain = std::pow(path.distance_m, structure.spreading == Spreading::body ? -1.0 : -0.5);
        const double loss = structure.quality > 0.0 ? 1.0 / structure.quality : 0.0;
        path.attenuation_s = path.delay_s * loss;
        path.dispersion =
            structure.dispersion.value_or(loss / pi); // required by causality [Aki & Richards 2002]
        path.tail_decay_s = structure.tail_decay_s;
        tail_db = structure.tail_db;
        coupling = in_air ? entered : 1.0;
        path.lowpass_hz = in_air ? entered_lowpass_hz : 0.0;
    }
    // The direct wave loses to the tail what is scattered on the way.
    path.tail_energy = db_to_power(tail_db) * path.distance_m / 10.0;
    path.gain *= coupling * db_to_amplitude(sensor.gain_db);
    return path;
}

std::complex<double> contact_response(double contact, double frequency_hz) {
    if (contact >= 1.0) return 1.0;
    const double resonance_hz = 60.0 * std::pow(40.0, contact);
    const double ratio = frequency_hz / resonance_hz;
    const double loss = db_to_amplitude(-18.0 * (1.0 - contact));
    return loss / std::complex<double>(1.0 - ratio * ratio, ratio / 1.2);
}

std::vector<std::complex<float>> direct_response(const Path& path, std::size_t size, double rate_hz,
                                                 double lead_s) {
    std::vector<std::complex<float>> bins(size / 2 + 1);
    for (std::size_t k = 0; k < bins.size(); ++k) {
        const double frequency_hz = static_cast<double>(k) * rate_hz / static_cast<double>(size);
        double lag_s = lead_s;
        if (path.dispersion != 0.0)
            lag_s += path.delay_s * (1.0 / speed_share(path, frequency_hz) - 1.0);
        std::complex<double> value =
            std::polar(path.gain * std::exp(-pi * frequency_hz * path.attenuation_s),
                       -2.0 * pi * frequency_hz * lag_s);
        if (path.contact < 1.0) value *= contact_response(path.contact, frequency_hz);
        if (path.lowpass_hz > 0.0)
            value /= std::complex<double>(1.0, frequency_hz / path.lowpass_hz);
        bins[k] = std::complex<float>(value);
    }
    return bins;
}

std::vector<Heard> travel(std::span<const float> sound, double start_s, std::span<const Path> paths,
                          double rate_hz) {
    double longest_s = 0.0;
    for (const Path& path : paths) {
        const double early_s = dispersion_lead_s(path, rate_hz),
                     late_s = dispersion_lag_s(path, rate_hz);
        longest_s = std::max(longest_s, early_s + late_s + path.tail_decay_s);
    }
    const auto frames =
        sound.size() + static_cast<std::size_t>((longest_s + 0.03) * rate_hz + 3.0 * lead_frames);
    const RealFft fft(fast_size(frames));
    std::vector<float> padded(fft.size(), 0.0F);
    std::copy(sound.begin(), sound.end(), padded.begin());
    std::vector<std::complex<float>> source(fft.bins());
    fft.forward(padded, source);
    std::vector<Heard> heard;
    for (const Path& path : paths) {
        const double arrival = (start_s + path.delay_s) * rate_hz;
        const double whole =
            std::floor(arrival - lead_frames - dispersion_lead_s(path, rate_hz) * rate_hz);
        auto bins = direct_response(path, fft.size(), rate_hz, (arrival - whole) / rate_hz);
        multiply_tail(path, fft, rate_hz, bins);
        for (std::size_t k = 0; k < bins.size(); ++k)
            bins[k] *= source[k] / static_cast<float>(fft.size());
        Heard made{static_cast<Frame>(whole), std::vector<float>(fft.size())};
        fft.inverse(bins, made.samples);
        made.samples.resize(frames);
        heard.push_back(std::move(made));
    }
    return heard;
}

} // namespace lull
