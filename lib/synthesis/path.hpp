// SPDX-License-Identifier: GPL-3.0-or-later
//
// The path from a source to a sensor: delay, spreading, absorption, dispersion, scattering,
// contact.
#pragma once

#include "conventions.hpp"
#include "synthesis/plan.hpp"
#include "synthesis/random.hpp"

#include <complex>
#include <span>
#include <vector>

namespace lull {

/// What the seed decides about ground and sensors, common to all sources.
struct Layout {
    double speed_m_s = 0.0;
    std::vector<double> contact; ///< one a channel, including badly seated sensors
    Random paths{0}; ///< variation and scatter, by the source's part of the ground and the channel
};

[[nodiscard]] Layout draw_layout(const Plan& plan, Random random);

/// Random numbers of the ground round one corner of a lattice, and their weight for a place. The
/// squares of the weights add up to 1.
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
    double dispersion = 0.0;   ///< speed is proportional to 1 + dispersion * ln(f / reference_hz)
    double tail_energy = 0.0;  ///< energy of the scattered tail relative to the direct wave
    double tail_decay_s = 0.0; ///< time of a fall by 60 dB
    std::vector<GroundPart> tail;
    double contact = 1.0;
    double lowpass_hz = 0.0; ///< one pole, for sound that has entered the structure; 0: none
};

inline constexpr double reference_hz = 300.0; ///< frequency of the stated wave speed
/// Two sources within this distance share variation and scattered tails.
inline constexpr double ground_alike_m = 0.5;
inline constexpr double nearest_m = 0.5; ///< smallest distance: a source is not a point

/// \param in_air  whether the source is in the air (a voice) or in the structure (a knock)
[[nodiscard]] Path path_between(const Plan& plan, const Layout& layout, const Position& source,
                                bool in_air, std::size_t channel);

/// Speed of sound in air [ISO 9613-1:1993, annex A]: 343.2 m/s * sqrt(T / 293.15 K).
[[nodiscard]] double sound_speed_m_s(double temperature_c);

/// Frequency response of a sensor with this contact: a mass on a spring, stiff when well seated,
/// soft and lossy when not [practice]. Exactly 1 at contact 1.
[[nodiscard]] std::complex<double> contact_response(double contact, double frequency_hz);

/// The direct wave's response at size/2+1 bins, with delays relative to delay_s - lead_s.
[[nodiscard]] std::vector<std::complex<float>> direct_response(const Path& path, std::size_t size,
                                                               double rate_hz, double lead_s);

/// A sound at one channel.
struct Heard {
    Frame first = 0; ///< time-line frame of the first sample
    std::vector<float> samples;
};

/// A sound that starts at start_s, after each path.
[[nodiscard]] std::vector<Heard> travel(std::span<const float> sound, double start_s,
                                        std::span<const Path> paths, double rate_hz);

} // namespace lull
