// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/contacts.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

namespace lull {
namespace {

constexpr std::array<Position, 4> stood{
    {{0.0, 0.0, 0.0}, {6.0, 0.0, 0.0}, {0.0, 6.0, 0.0}, {6.0, 6.0, 0.0}}};
constexpr std::array<double, 4> contact_db{0.0, 4.0, -12.0, 8.0}; ///< mean 0

struct Session {
    std::vector<std::vector<Listening>> listenings;
    std::vector<Place> places;
};

/// Sources all over the room; levels fall by 15 dB a decade, with contacts and 3 dB of scatter.
Session session_of(int sources, std::uint64_t seed) {
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal(0.0, 1.0);
    const auto even = [&](double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(random);
    };
    Session session;
    for (int k = 0; k < sources; ++k) {
        const Position at{even(0.5, 5.5), even(0.5, 5.5), 0.0};
        const double strength_db = even(-40.0, -10.0);
        Listening listening;
        for (std::size_t s = 0; s < stood.size(); ++s) {
            listening.sensors.push_back({static_cast<int>(s), stood[s], 0.1});
            const double r = distance_m(at, stood[s]);
            listening.levels.push_back(
                {static_cast<int>(s),
                 strength_db - 15.0 * std::log10(r) + contact_db[s] + 3.0 * normal(random), 1.0,
                 20.0});
        }
        session.listenings.push_back({listening});
        Place place;
        place.shape = PlaceShape::region;
        place.x_m = at[0], place.y_m = at[1], place.z_m = 0.0, place.area90_m2 = 2.0;
        session.places.push_back(place);
    }
    return session;
}

TEST(Contacts, AreEstimatedFromManySourcesWithTheirSigma) {
    constexpr int sessions = 60;
    int within_two = 0;
    double squares = 0.0;
    for (int seed = 1; seed <= sessions; ++seed) {
        const Session session = session_of(24, static_cast<std::uint64_t>(seed));
        const auto contacts = estimate_contacts(session.listenings, session.places);
        ASSERT_EQ(contacts.size(), 4U) << "seed " << seed;
        for (const Contact& one : contacts) {
            const double off = one.contact_db - contact_db[static_cast<std::size_t>(one.channel)];
            within_two += std::abs(off) <= 2.0 * one.sigma_db ? 1 : 0;
            squares += off * off;
            EXPECT_EQ(one.sources, 24);
        }
    }
    EXPECT_GE(within_two, 0.9 * 4 * sessions);
    EXPECT_LT(std::sqrt(squares / (4 * sessions)), 1.5); // 3 dB over the root of 24, with a margin
}

TEST(Contacts, AreNotEstimatedFromThreeSources) {
    const Session session = session_of(3, 1);
    EXPECT_TRUE(estimate_contacts(session.listenings, session.places).empty());
}

TEST(Contacts, AreSubtractedFromTheLevels) {
    Session session = session_of(30, 5);
    const auto contacts = estimate_contacts(session.listenings, session.places);
    std::vector<Listening>& first = session.listenings.front();
    const double before_db = first[0].levels[2].level_db;
    apply_contacts(contacts, first);
    EXPECT_NEAR(first[0].levels[2].level_db, before_db + 12.0, 2.5);
    EXPECT_LT(contact_sigma_db(first[0], first[0].levels[2]), 6.0);
}

} // namespace
} // namespace lull
