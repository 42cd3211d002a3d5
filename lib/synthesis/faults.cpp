// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/faults.hpp"

#include "synthesis/noise_bed.hpp"
#include "synthesis/snr.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

Faults::Faults(const Plan& plan, Random random) : plan_(plan), random_(random) {
    const auto weights = band_power_weights(NoiseBed::segment_frames(plan.rate_hz), plan.rate_hz,
                                            default_band(plan.rate_hz));
    for (std::size_t i = 0; i < plan.faults.size(); ++i) {
        const PlanFault& fault = plan.faults[i];
        if (fault.kind != FaultKind::hum) continue;
        ToneBank tones(fault.mains_hz, 0.0008, random.child("hum").child(i), 0, 0.0,
                       std::min(1000.0, 0.4 * plan.rate_hz));
        tones.scale(
            std::sqrt(db_to_power(fault.level_db) / tones.weighted_power(weights, plan.rate_hz)));
        const double in_band = tones.weighted_power(weights, plan.rate_hz);
        hums_.push_back({i, std::move(tones), in_band});
    }
}

bool Faults::is_on(const PlanFault& fault, std::size_t channel) const {
    return fault.channel == plan_.channels[channel].name;
}

bool Faults::usable(std::size_t channel) const {
    return std::none_of(plan_.faults.begin(), plan_.faults.end(), [&](const PlanFault& fault) {
        const bool loses = fault.kind == FaultKind::dead || fault.kind == FaultKind::dropouts ||
                           fault.kind == FaultKind::clipping;
        return loses && is_on(fault, channel);
    });
}

bool Faults::clock_is_wrong(std::size_t channel) const {
    return std::any_of(plan_.faults.begin(), plan_.faults.end(), [&](const PlanFault& fault) {
        return fault.kind == FaultKind::clock_drift && is_on(fault, channel);
    });
}

double Faults::true_frame(std::size_t channel, Frame frame) const {
    double at = static_cast<double>(frame);
    for (const PlanFault& fault : plan_.faults) {
        if (fault.kind != FaultKind::clock_drift || !is_on(fault, channel)) continue;
        at = (at - fault.offset_s * plan_.rate_hz) / (1.0 + 1e-6 * fault.drift_ppm);
    }
    return at;
}

std::pair<std::size_t, std::size_t> Faults::held(const PlanFault& fault, Frame first,
                                                 std::size_t count) const {
    const auto index_of = [&](double time_s) {
        return static_cast<std::size_t>(
            std::clamp(std::ceil(time_s * plan_.rate_hz) - static_cast<double>(first), 0.0,
                       static_cast<double>(count)));
    };
    return {index_of(fault.from_s), index_of(fault.to_s)};
}

void Faults::add_hum(std::size_t channel, Frame first, std::span<float> out) const {
    for (const Hum& hum : hums_) {
        const PlanFault& fault = plan_.faults[hum.fault];
        if (!is_on(fault, channel)) continue;
        const auto [from, to] = held(fault, first, out.size());
        if (from < to)
            hum.tones.add(first + static_cast<Frame>(from), plan_.rate_hz, 1.0, 1.0,
                          out.subspan(from, to - from));
    }
}

double Faults::hum_power(std::size_t channel, Frame frame) const {
    double power = 0.0;
    for (const Hum& hum : hums_) {
        const PlanFault& fault = plan_.faults[hum.fault];
        const double time_s = static_cast<double>(frame) / plan_.rate_hz;
        if (is_on(fault, channel) && time_s >= fault.from_s && time_s < fault.to_s)
            power += hum.in_band;
    }
    return power;
}

void Faults::drop(const PlanFault& fault, std::size_t index, Frame first,
                  std::span<float> out) const {
    const double slot_frames = 60.0 / fault.per_minute * plan_.rate_hz;
    const auto end = first + static_cast<Frame>(out.size());
    const auto from = static_cast<std::int64_t>(static_cast<double>(first) / slot_frames) - 1;
    const auto to = static_cast<std::int64_t>(static_cast<double>(end) / slot_frames);
    const auto [held_from, held_to] = held(fault, first, out.size());
    for (std::int64_t slot = std::max<std::int64_t>(0, from); slot <= to; ++slot) {
        Random random = random_.child("drop").child(index).child(static_cast<std::uint64_t>(slot));
        const auto begin =
            static_cast<Frame>((static_cast<double>(slot) + random.uniform()) * slot_frames);
        const double length_frames = fault.length_s * plan_.rate_hz * random.between(0.3, 1.7);
        const Frame low = std::max(first + static_cast<Frame>(held_from), begin);
        const Frame high =
            std::min(first + static_cast<Frame>(held_to),
                     begin + static_cast<Frame>(std::min(length_frames, slot_frames)));
        for (Frame n = low; n < high; ++n)
            out[static_cast<std::size_t>(n - first)] = 0.0F;
    }
}

void Faults::spoil(std::size_t channel, Frame first, std::span<float> out) const {
    for (std::size_t i = 0; i < plan_.faults.size(); ++i) {
        const PlanFault& fault = plan_.faults[i];
        if (!is_on(fault, channel)) continue;
        const auto [from, to] = held(fault, first, out.size());
        if (fault.kind == FaultKind::wrong_polarity) {
            for (std::size_t n = from; n < to; ++n)
                out[n] = -out[n];
        } else if (fault.kind == FaultKind::clipping) {
            const auto gain = static_cast<float>(db_to_amplitude(fault.gain_db)),
                       top = static_cast<float>(db_to_amplitude(fault.level_db));
            for (std::size_t n = from; n < to; ++n)
                out[n] = std::clamp(gain * out[n], -top, top);
        } else if (fault.kind == FaultKind::dropouts) {
            drop(fault, i, first, out);
        } else if (fault.kind == FaultKind::dead) {
            // Only the recorder's own noise is left.
            const Random hiss = random_.child("dead").child(i);
            const auto level = static_cast<float>(
                db_to_amplitude(plan_.channels[channel].self_noise_db) * std::sqrt(3.0));
            for (std::size_t n = from; n < to; ++n) {
                const auto bits = hiss.at(static_cast<std::uint64_t>(first) + n);
                out[n] =
                    level * static_cast<float>(static_cast<double>(bits >> 11) * 0x1p-52 - 1.0);
            }
        }
    }
}

} // namespace lull
