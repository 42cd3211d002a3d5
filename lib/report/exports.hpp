// SPDX-License-Identifier: GPL-3.0-or-later
//
// Forms of an account that other programs load.
#pragma once

#include "account/account.hpp"

#include <string>

namespace lull {

/// Finds in order of time, a line each: from, to and a label, separated by tabs, seconds with six
/// decimals. Sound editors read it.
[[nodiscard]] std::string find_labels(const Account& account);

/// Places as GeoJSON (RFC 7946 but for its coordinates, which are metres in the frame of the site,
/// as the document says): the region of 90 % of each, and its best point.
[[nodiscard]] std::string places_geojson(const Account& account);

} // namespace lull
