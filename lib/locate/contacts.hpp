// SPDX-License-Identifier: GPL-3.0-or-later
//
// Contact of each sensor: how much more or less it reads than its distances predict, over all
// sources of a session. A poor contact looks like distance in one event, but not over many.
#pragma once

#include "locate/place.hpp"

#include <span>
#include <vector>

namespace lull {

/// The contact of a sensor at one position.
struct Contact {
    int channel = 0; ///< index into the recording's channels
    Position position_m{};
    /// its level minus the level by distance, relative to the mean of all sensors
    double contact_db = 0.0;
    double sigma_db = 0.0;
    int sources = 0; ///< number of sources that it comes from
};

/// Least squares of levels over sources and sensors. Each source has a strength and each sensor a
/// contact, with a prior sigma of 6 dB. Empty where fewer than four sources have a place.
/// \param listenings  of each source
/// \param places      of each source, estimated without levels
[[nodiscard]] std::vector<Contact>
estimate_contacts(std::span<const std::vector<Listening>> listenings,
                  std::span<const Place> places);

/// Subtracts the contacts from the levels, which are then as certain as the estimates.
void apply_contacts(std::span<const Contact> contacts, std::vector<Listening>& listenings);

} // namespace lull
