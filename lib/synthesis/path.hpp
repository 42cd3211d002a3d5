// SPDX-License-Identifier: GPL-3.0-or-later
//
// From a source to a sensor: delay, spreading, absorption, dispersion, scattering, contact.
#pragma once

#include "conventions.hpp"
#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

#include <complex>
#include <span>
#include <vector>

namespace lull {

/// What the seed decides about the ground and the sensors, the same for every source.
struct Layout {
    double speed_m_s = 0.0;
    std::vector<double> contact; ///< per channel, badly seated sensors included
    Random paths{0}; ///< unevenness and scatter, by the source's part of the ground and channel
};

[[nodiscard]] Layout draw_layout(const Plan& plan, Random random);

/// Random numbers of the ground round one corner of a lattice, and its part in those of a place:
/// the squares of the weights add up to 1.
struct GroundPart {
    Random random{0};
    double weight = 1.0;
};

struct Path {
    double distance_m = 0.0;
    double delay_s = 0.0; ///< of the direct wave at reference_hz
    double gain = 1.0;    ///< spreading from 1 m, coupling into the medium, amplifier
    double attenuation_s =
        0.0; ///< t*: amplitude falls with exp(-pi f t*) [Aki & Richards 2002, chapter 5]
    double dispersion = 0.0;   ///< speed goes with 1 + dispersion * ln(f / reference_hz)
    double tail_energy = 0.0;  ///< of the scattered tail over the direct wave's
    double tail_decay_s = 0.0; ///< to 60 dB less
    std::vector<GroundPart> tail;
    double contact = 1.0;
    double lowpass_hz = 0.0; ///< one pole: of sound that has entered the structure; 0: none
};

inline constexpr double reference_hz = 300.0; ///< where a wave's speed is stated
/// Within this distance two sources' unevenness and scattered tails are alike.
inline constexpr double ground_alike_m = 0.5;
inline constexpr double nearest_m = 0.5; ///< nothing is nearer: a source is no point

/// \param in_air  whether the source sounds into the air (a voice) or into the structure (a knock)
[[nodiscard]] Path path_between(const Plan& plan, const Layout& layout, const Position& source,
                                bool in_air, std::size_t channel);

/// Speed of sound in air [ISO 9613-1:1993, annex A]: 343.2 m/s * sqrt(T / 293.15 K).
[[nodiscard]] double sound_speed_m_s(double temperature_c);

/// How a sensor of this contact answers at a frequency: a mass on a spring, stiff when well seated,
/// soft and lossy when not [practice]; exactly 1 at contact 1.
[[nodiscard]] std::complex<double> contact_response(double contact, double frequency_hz);

/// The direct wave's response at size/2+1 bins, delays counted from delay_s - lead_s.
[[nodiscard]] std::vector<std::complex<float>> direct_response(const Path& path, std::size_t size,
                                                               double rate_hz, double lead_s);

/// A sound as one channel hears it.
struct Heard {
    Frame first = 0; ///< time-line frame of the first sample
    std::vector<float> samples;
};

/// What each path makes of a sound that starts at start_s.
[[nodiscard]] std::vector<Heard> travel(std::span<const float> sound, double start_s,
                                        std::span<const Path> paths, double rate_hz);

} // namespace lull
