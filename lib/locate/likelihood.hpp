// SPDX-License-Identifier: GPL-3.0-or-later
//
// The likelihood of a place and a wave speed, given the measurements.
#pragma once

#include "locate/arrival_times.hpp"
#include "locate/listening.hpp"

#include <array>
#include <span>
#include <vector>

namespace lull {

/// Unknowns of a source: x, y, z [m], ln of the speed in the structure [m/s].
using Unknowns = std::array<double, 4>;

/// A box of unknowns.
struct Box {
    Unknowns centre{}, size{};
};

struct BoxLikelihood {
    double log_density = 0.0;     ///< ln of the likelihood at the centre, blurred over the box
    std::array<double, 4> blur{}; ///< variance due to the box's size in each unknown, relative to
                                  ///< the variance without it; maximum over the sensors
};

/// ln of the integral over a common shift of the product of normal densities of the residuals. One
/// of them may be wrong; it then has a density of its own, whatever the shift.
/// \param log_wrong  for each: ln(probability * density) of being wrong
/// \param log_right  for each: ln of the probability of being right
/// All of one length, 2 to 64; variance > 0
[[nodiscard]] double log_shifted(std::span<const double> residual, std::span<const double> variance,
                                 std::span<const double> log_wrong, double log_right);

/// ln of the integral over a common shift of the product of Student densities of the residuals,
/// with three degrees of freedom, twice as wide on the late side as on the early one. A weak first
/// wave is missed more often than noise is mistaken for it, and any number of arrivals may be
/// wrong. All of one length, 2 to 64; variance > 0
[[nodiscard]] double log_shifted_late(std::span<const double> residual,
                                      std::span<const double> variance);

/// The likelihood of all measurements, averaged over what is unknown.
/// Delays: the hypotheses of arrival_hypotheses(). Arrivals are blurred by the sensors' positions
/// and by speeds that differ between paths, and any one of them may be wrong (not the first wave,
/// or not of this source).
/// Levels: they fall with distance by a power law, 3 or 6 dB per doubling, and by absorption, from
/// an unknown strength. Each sensor's contact is unknown, and one of them may be very poor.
class PlaceLikelihood {
  public:
    /// \param listenings  outlive this object
    PlaceLikelihood(const std::vector<Listening>& listenings, const Medium& medium);

    [[nodiscard]] BoxLikelihood at(const Box& box) const;

    [[nodiscard]] bool has_delays() const;
    [[nodiscard]] bool has_structure() const; ///< has delays of waves in the structure
    /// Hypotheses on the delays of one listening; empty without delays.
    [[nodiscard]] const std::vector<ArrivalHypothesis>& hypotheses(std::size_t listening) const {
        return parts_[listening].hypotheses;
    }
    /// Slowness [s/m] at an ln speed, for one listening.
    [[nodiscard]] double slowness(std::size_t listening, double log_speed) const;

  private:
    struct Part {
        const Listening* listening;
        std::vector<ArrivalHypothesis> hypotheses;
        std::vector<double> log_wrong; ///< of each sensor's arrival
    };
    void add_rises(Part& part, const std::vector<double>& longest_s) const;
    [[nodiscard]] std::vector<double> longest_delays(const Listening& listening,
                                                     const std::vector<HeardDelay>& delays) const;
    double times(const Part& part, const Box& box, BoxLikelihood& result) const;
    double levels(const Part& part, const Box& box, BoxLikelihood& result) const;

    Medium medium_;
    std::vector<Part> parts_;
};

/// Standard deviation of a sensor's level from its level by distance: contact, direction, scatter.
[[nodiscard]] double contact_sigma_db(const Listening& listening, const HeardLevel& level);

/// Laws of the levels' fall that are averaged over, equally likely.
struct Fall {
    double per_decade_db; ///< 10 (3 dB per doubling: surface waves) or 20 (6 dB: body waves, sound)
    double per_metre_db;  ///< absorption
};
inline constexpr std::array<Fall, 6> falls{
    {{10.0, 0.0}, {10.0, 0.3}, {10.0, 1.0}, {20.0, 0.0}, {20.0, 0.3}, {20.0, 1.0}}};
inline constexpr double least_range_m = 0.3; ///< levels do not rise further within this

[[nodiscard]] double distance_m(const Position& a, const Position& b);

} // namespace lull
