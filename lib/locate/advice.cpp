// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/advice.hpp"

#include "conventions.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

constexpr int likely_places = 40;   ///< number in the expectation
constexpr int lattice = 13;         ///< number of new places in each direction
constexpr double arrival_s = 18e-6; ///< sigma of an arrival at 10 dB: general bound for a knock
constexpr double absorption_db_m = 0.3;
/// a delay is never usable at the first, always at the second
constexpr double least_snr_db = 3.0, sure_snr_db = 12.0;
constexpr double level_db = 6.0; ///< sigma of the contact
constexpr double least_move_m = 1.0;

using Information = Eigen::Matrix4d; ///< of x, y, z, ln speed

/// Draws unknowns at equal steps of probability over the patches.
std::vector<Unknowns> sample(const std::vector<Patch>& patches) {
    std::vector<Unknowns> found;
    double sum = 0.0;
    for (const Patch& patch : patches) {
        sum += patch.probability;
        while (static_cast<double>(found.size()) + 0.5 < sum * likely_places)
            found.push_back(patch.box.centre);
    }
    return found;
}

/// One arrival and one level as functions of the unknowns: slopes and weights.
struct Row {
    Eigen::Vector4d time, level;
    double weight = 0.0;
};

Row row_of(const Unknowns& at, const Position& sensor, double sigma_m, double snr_db,
           const Medium& medium) {
    const double r = std::max(least_range_m, distance_m({at[0], at[1], at[2]}, sensor));
    const double slowness = std::exp(-at[3]);
    Row row;
    for (Eigen::Index d = 0; d < 3; ++d) {
        const auto i = static_cast<std::size_t>(d);
        const double unit = (at[i] - sensor[i]) / r;
        row.time(d) = slowness * unit;
        row.level(d) = 20.0 / std::numbers::ln10 / r * unit;
    }
    row.time(3) = -slowness * r;
    row.level(3) = 0.0;
    const double uneven = medium.path_share * r, clear = arrival_s * db_to_amplitude(10.0 - snr_db);
    row.weight =
        1.0 / (slowness * slowness * (sigma_m * sigma_m + uneven * uneven) + clear * clear);
    return row;
}

/// Sums from which the information of any set of arrivals with a common start follows.
struct Sums {
    Information times = Information::Zero(), levels = Information::Zero();
    Eigen::Vector4d time_mean = Eigen::Vector4d::Zero(), level_mean = Eigen::Vector4d::Zero();
    double weight = 0.0, count = 0.0;

    void add(const Row& row) {
        times += row.weight * row.time * row.time.transpose();
        time_mean += row.weight * row.time;
        weight += row.weight;
        levels += row.level * row.level.transpose();
        level_mean += row.level;
        count += 1.0;
    }
    [[nodiscard]] Information information() const {
        return times - time_mean * time_mean.transpose() / weight +
               (levels - level_mean * level_mean.transpose() / count) / (level_db * level_db);
    }
};

double log_area(const Sums& sums, const Information& before) {
    const Information covariance = (sums.information() + before).inverse();
    return 0.5 * std::log(std::max(1e-12, covariance.topLeftCorner<2, 2>().determinant()));
}

Information prior(const SearchSpace& space, const Medium& medium) {
    Information before = Information::Zero();
    for (std::size_t d = 0; d < 3; ++d)
        before(static_cast<Eigen::Index>(d), static_cast<Eigen::Index>(d)) =
            12.0 / std::pow(space.high[d] - space.low[d], 2);
    const double range = std::log(medium.highest_m_s / medium.lowest_m_s);
    before(3, 3) = 12.0 / std::max(1e-4, range * range);
    return before;
}

struct Rectangle {
    double left = 1e300, right = -1e300, low = 1e300, high = -1e300;
};

Rectangle reachable(const Listening& listening, const Ground& ground) {
    Rectangle area;
    for (const Sensor& sensor : listening.sensors) {
        area.left = std::min(area.left, sensor.position_m[0] - ground.reach_m);
        area.right = std::max(area.right, sensor.position_m[0] + ground.reach_m);
        area.low = std::min(area.low, sensor.position_m[1] - ground.reach_m);
        area.high = std::max(area.high, sensor.position_m[1] + ground.reach_m);
    }
    return area;
}

bool is_allowed(const Listening& listening, const Ground& ground, double x, double y) {
    for (const Ring& ring : ground.forbidden)
        if (is_inside(ring, x, y)) return false;
    return std::ranges::none_of(listening.sensors, [&](const Sensor& sensor) {
        return std::hypot(sensor.position_m[0] - x, sensor.position_m[1] - y) < least_move_m;
    });
}

/// The listening with the most delays, from which one sensor is moved.
const Listening* most_tied(const std::vector<Listening>& listenings) {
    const auto delays = [](const Listening& one) {
        return std::max(one.delays.size(), one.rises.size());
    };
    const Listening* best = nullptr;
    for (const Listening& listening : listenings)
        if (!best || delays(listening) > delays(*best)) best = &listening;
    return best && delays(*best) > 0 ? best : nullptr;
}

/// Sensors in the order in which they may be moved, without the strongest.
std::vector<int> least_telling(const Listening& listening) {
    const auto loudness = [&](int s) {
        const auto heard = std::ranges::find(listening.levels, s, &HeardLevel::sensor);
        return heard == listening.levels.end() ? -1e9 : heard->level_db;
    };
    std::vector<int> order;
    for (std::size_t s = 0; s < listening.sensors.size(); ++s)
        order.push_back(static_cast<int>(s));
    std::ranges::stable_sort(order, {}, loudness);
    if (!order.empty()) order.pop_back();
    return order;
}

/// The expected area after one more arrival.
class Expectation {
  public:
    Expectation(const Place& place, const Listening& listening, const SearchSpace& space,
                const Medium& medium)
        : likely_(sample(place.patches)), before_(prior(space, medium)), medium_(medium) {
        if (listening.kind == ChannelKind::air)
            for (Unknowns& at : likely_)
                at[3] = std::log(medium.air_m_s);
        const auto loudest = std::ranges::max_element(listening.levels, {}, &HeardLevel::snr_db);
        if (loudest != listening.levels.end()) {
            loudest_at_ = listening.sensors[static_cast<std::size_t>(loudest->sensor)].position_m;
            loudest_db_ = loudest->snr_db;
        }
        for (const Unknowns& at : likely_) {
            Sums sums;
            for (std::size_t s = 0; s < listening.sensors.size(); ++s) {
                const auto heard =
                    std::ranges::find(listening.levels, static_cast<int>(s), &HeardLevel::sensor);
                if (heard != listening.levels.end())
                    sums.add(row_of(at, listening.sensors[s].position_m,
                                    listening.sensors[s].sigma_m, heard->snr_db, medium_));
            }
            now_.push_back(sums);
            area_now_.push_back(sums.count > 0.0 ? std::exp(log_area(sums, before_)) : 1.0);
            all_now_ += area_now_.back();
        }
    }

    /// The share of the present area that remains with one more sensor at a place.
    [[nodiscard]] double after(const Position& sensor, double sigma_m) const {
        double sum = 0.0;
        for (std::size_t i = 0; i < likely_.size(); ++i) {
            const Position source{likely_[i][0], likely_[i][1], likely_[i][2]};
            const double r = std::max(least_range_m, distance_m(source, sensor)),
                         r_loudest = std::max(least_range_m, distance_m(source, loudest_at_));
            const double snr_db =
                loudest_db_ + 20.0 * std::log10(r_loudest / r) - absorption_db_m * (r - r_loudest);
            const double usable =
                std::clamp((snr_db - least_snr_db) / (sure_snr_db - least_snr_db), 0.0, 1.0);
            Sums sums = now_[i];
            sums.add(row_of(likely_[i], sensor, sigma_m, snr_db, medium_));
            sum += usable * std::exp(log_area(sums, before_)) + (1.0 - usable) * area_now_[i];
        }
        return sum / all_now_;
    }

  private:
    std::vector<Unknowns> likely_;
    Information before_;
    Medium medium_;
    Position loudest_at_{};
    double loudest_db_ = 10.0, all_now_ = 0.0;
    std::vector<Sums> now_;
    std::vector<double> area_now_;
};

} // namespace

bool is_inside(const Ring& ring, double x_m, double y_m) {
    bool inside = false;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const auto &a = ring[i], &b = ring[(i + 1) % ring.size()];
        if ((a[1] > y_m) != (b[1] > y_m) &&
            x_m < a[0] + (y_m - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
            inside = !inside;
    }
    return inside;
}

std::vector<Move> advise(const Place& place, const std::vector<Listening>& listenings,
                         const SearchSpace& space, const Medium& medium, const Ground& ground) {
    const Listening* listening = most_tied(listenings);
    if (!listening || place.patches.empty()) return {};
    const std::vector<int> movable = least_telling(*listening);
    if (movable.empty()) return {};
    const Expectation expectation(place, *listening, space, medium);
    const double area90 = area_m2(place.map, region_threshold(place.map, 0.9));
    const Rectangle area = reachable(*listening, ground);
    const double elsewhere_m = 0.25 * std::hypot(area.right - area.left, area.high - area.low);
    std::vector<Move> best;
    for (const int s : movable) {
        const Sensor& sensor = listening->sensors[static_cast<std::size_t>(s)];
        Move move{sensor.channel, 0.0, 0.0, area90, area90};
        for (int k = 0; k < lattice * lattice; ++k) {
            const double x = area.left + (area.right - area.left) * (k % lattice) / (lattice - 1.0),
                         y = area.low + (area.high - area.low) * (k / lattice) / (lattice - 1.0);
            if (!is_allowed(*listening, ground, x, y)) continue;
            if (!best.empty() && std::hypot(x - best[0].x_m, y - best[0].y_m) < elsewhere_m)
                continue;
            const double share = expectation.after({x, y, sensor.position_m[2]}, sensor.sigma_m);
            if (share * area90 < move.expected_area90_m2)
                move.x_m = x, move.y_m = y, move.expected_area90_m2 = share * area90;
        }
        if (move.expected_area90_m2 < area90) best.push_back(move);
        if (best.size() == 2) break;
    }
    return best;
}

} // namespace lull
