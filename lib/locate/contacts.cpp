// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/contacts.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr double contacts_apart_db = 6.0;
constexpr double scatter_db = 4.0;          ///< of one level from what place and contact predict
constexpr double fall_per_decade_db = 15.0; ///< between surface and body waves
constexpr std::size_t least_sources = 4;
constexpr int rounds = 60;
constexpr double sigmas_of_90 = 2.1460; ///< radius of a round 90 % region in standard deviations

/// One level of one source.
struct Reading {
    std::size_t source, contact;
    double db, weight; ///< corrected for the distance
};

std::size_t index_of(std::vector<Contact>& contacts, const Sensor& sensor) {
    const auto same = [&](const Contact& one) {
        return one.channel == sensor.channel && one.position_m == sensor.position_m;
    };
    const auto found = std::ranges::find_if(contacts, same);
    if (found != contacts.end()) return static_cast<std::size_t>(found - contacts.begin());
    contacts.push_back({sensor.channel, sensor.position_m, 0.0, contacts_apart_db, 0});
    return contacts.size() - 1;
}

/// \return whether the source has a place
bool add_readings(const std::vector<Listening>& listenings, const Place& place, std::size_t source,
                  std::vector<Contact>& contacts, std::vector<Reading>& readings) {
    if (place.shape != PlaceShape::region || !place.x_m || !place.area90_m2) return false;
    const double spread_m = std::sqrt(*place.area90_m2 / std::numbers::pi) / sigmas_of_90;
    for (const Listening& listening : listenings) {
        if (listening.kind == ChannelKind::air || listening.levels.size() < 3) continue;
        for (const HeardLevel& level : listening.levels) {
            const Sensor& sensor = listening.sensors[static_cast<std::size_t>(level.sensor)];
            const Position at{*place.x_m, *place.y_m, place.z_m.value_or(sensor.position_m[2])};
            const double r = std::max(least_range_m, distance_m(at, sensor.position_m));
            // A place that is badly known says little about a sensor near it.
            const double unsure_db =
                fall_per_decade_db / std::numbers::ln10 * spread_m / std::hypot(r, spread_m);
            readings.push_back(
                {source, index_of(contacts, sensor),
                 level.level_db + fall_per_decade_db * std::log10(std::hypot(r, spread_m)),
                 1.0 / (scatter_db * scatter_db + unsure_db * unsure_db)});
        }
    }
    return true;
}

} // namespace

std::vector<Contact> estimate_contacts(std::span<const std::vector<Listening>> listenings,
                                       std::span<const Place> places) {
    std::vector<Contact> contacts;
    std::vector<Reading> readings;
    std::size_t sources = 0;
    for (std::size_t k = 0; k < places.size(); ++k)
        sources += add_readings(listenings[k], places[k], k, contacts, readings) ? 1 : 0;
    if (sources < least_sources) return {};
    constexpr double before = 1.0 / (contacts_apart_db * contacts_apart_db);
    std::vector<double> strength(places.size()), sum(places.size()), weight(places.size());
    std::vector<double> own(contacts.size()), told(contacts.size());
    for (int round = 0; round < rounds; ++round) {
        std::ranges::fill(sum, 0.0), std::ranges::fill(weight, 0.0);
        for (const Reading& one : readings) {
            sum[one.source] += one.weight * (one.db - contacts[one.contact].contact_db);
            weight[one.source] += one.weight;
        }
        for (std::size_t k = 0; k < sum.size(); ++k)
            strength[k] = weight[k] > 0.0 ? sum[k] / weight[k] : 0.0;
        std::ranges::fill(own, 0.0), std::ranges::fill(told, before);
        for (const Reading& one : readings) {
            own[one.contact] += one.weight * (one.db - strength[one.source]);
            told[one.contact] += one.weight;
        }
        for (std::size_t i = 0; i < contacts.size(); ++i)
            contacts[i].contact_db = own[i] / told[i];
    }
    for (std::size_t i = 0; i < contacts.size(); ++i)
        contacts[i].sigma_db = 1.0 / std::sqrt(told[i]);
    for (const Reading& one : readings)
        ++contacts[one.contact].sources;
    return contacts;
}

void apply_contacts(std::span<const Contact> contacts, std::vector<Listening>& listenings) {
    for (Listening& listening : listenings)
        for (HeardLevel& level : listening.levels) {
            const Sensor& sensor = listening.sensors[static_cast<std::size_t>(level.sensor)];
            const auto found = std::ranges::find_if(contacts, [&](const Contact& one) {
                return one.channel == sensor.channel && one.position_m == sensor.position_m;
            });
            if (found == contacts.end()) continue;
            level.level_db -= found->contact_db;
            level.contact_sigma_db = std::hypot(scatter_db, found->sigma_db);
        }
}

} // namespace lull
