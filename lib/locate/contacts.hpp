// SPDX-License-Identifier: GPL-3.0-or-later
//
// How much more or less each sensor reads than its distances say, over all sources of a session: a
// poor contact looks like distance in one event, and like a poor contact in many.
#pragma once

#include "locate/place.hpp"

#include <span>
#include <vector>

namespace lull {

/// Of one sensor where it stood.
struct Contact {
    int channel = 0; ///< index into the recording's channels
    Position position_m{};
    double contact_db = 0.0; ///< its level less what distance says, over the mean of all sensors
    double sigma_db = 0.0;
    int sources = 0; ///< that it was told from
};

/// Least squares of levels over sources and sensors, each source with a strength and each sensor
/// with a contact, contacts being 6 dB apart beforehand. Empty where fewer than four sources have a
/// place.
/// \param listenings  of each source
/// \param places      of each source, made without levels
[[nodiscard]] std::vector<Contact>
estimate_contacts(std::span<const std::vector<Listening>> listenings,
                  std::span<const Place> places);

/// Takes the contacts off the levels, which are then as sure as the estimates.
void apply_contacts(std::span<const Contact> contacts, std::vector<Listening>& listenings);

} // namespace lull
