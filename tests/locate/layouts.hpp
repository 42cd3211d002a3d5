// SPDX-License-Identifier: GPL-3.0-or-later
//
// Random layouts with known truth, drawn from the assumptions of lib/locate.
#pragma once

#include "locate/place.hpp"

#include <Eigen/Dense>

#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace lull {

inline constexpr double wrong_share_drawn = 0.05; ///< of delays that are grossly wrong

/// A knock at 10 dB has a bound of 18.1 us (checks.md, a decaying 300 Hz knock). The bound changes
/// with the channels' SNR as the general bound does.
inline double delay_sigma_s(double snr_a, double snr_b) {
    constexpr double at_ten = 18.1e-6 / 0.4582575695; // sqrt((1+10+10)/100)
    return at_ten * std::sqrt((1.0 + snr_a + snr_b) / (snr_a * snr_b));
}

struct Layout {
    Listening listening;
    SearchSpace space;
    Medium medium;
    Position truth{};
    double speed_m_s = 0.0;
    Fall fall{};
    bool any_wrong = false;
    double lowest_snr_db = 1e9;
    Eigen::Matrix2d bound;                ///< Bayesian bound of the covariance of x, y
    std::vector<double> time_s, level_db; ///< true values at each sensor
    double snr_over_level_db = 0.0;
};

class LayoutMaker {
  public:
    explicit LayoutMaker(std::uint64_t seed) : random_(seed) {}

    double even(double low, double high) {
        return low + (high - low) * static_cast<double>(random_() >> 11) * 0x1p-53;
    }
    double normal() {
        const double u = even(1e-12, 1.0), v = even(0.0, 1.0);
        return std::sqrt(-2.0 * std::log(u)) * std::cos(2.0 * std::numbers::pi * v);
    }

    Layout draw(bool with_wrong = true) {
        Layout layout;
        const int count = 3 + static_cast<int>(even(0.0, 4.0));
        place_sensors(layout, count);
        layout.space = search_space({layout.listening}, std::nullopt);
        for (std::size_t d = 0; d < 3; ++d)
            layout.truth[d] = even(layout.space.low[d], layout.space.high[d]);
        layout.speed_m_s =
            std::exp(even(std::log(layout.medium.lowest_m_s), std::log(layout.medium.highest_m_s)));
        hear(layout, with_wrong);
        bound(layout);
        return layout;
    }

    /// The same listening with one more event of the source, for which one sensor was moved. The
    /// other sensors hear it unchanged.
    Listening heard_after(const Layout& layout, int channel, double x, double y) {
        Listening after = layout.listening;
        Sensor moved = after.sensors[static_cast<std::size_t>(channel)];
        moved.position_m[0] = x, moved.position_m[1] = y;
        Position stood = moved.position_m;
        for (double& coordinate : stood)
            coordinate += moved.sigma_m * normal();
        const double r = std::max(least_range_m, distance_m(stood, layout.truth));
        const double level = -layout.fall.per_decade_db * std::log10(r) -
                             layout.fall.per_metre_db * r + 6.0 * normal();
        const double snr_db = level + layout.snr_over_level_db;
        const int index = static_cast<int>(after.sensors.size());
        after.sensors.push_back(moved);
        if (snr_db < 3.0) return after;
        const double time = r / layout.speed_m_s * (1.0 + layout.medium.path_share * normal());
        for (const HeardLevel& other : layout.listening.levels) {
            if (other.sensor == channel) continue;
            const double sigma =
                delay_sigma_s(std::pow(10.0, snr_db / 10.0), std::pow(10.0, other.snr_db / 10.0));
            after.delays.push_back(
                {other.sensor, index,
                 time - layout.time_s[static_cast<std::size_t>(other.sensor)] + sigma * normal(),
                 sigma});
        }
        after.levels.push_back({index, level, 0.5, snr_db});
        return after;
    }

  private:
    void place_sensors(Layout& layout, int count) {
        const double sigma_m = even(0.1, 0.6), side_m = even(10.0, 40.0);
        while (static_cast<int>(layout.listening.sensors.size()) < count) {
            Sensor sensor{static_cast<int>(layout.listening.sensors.size()),
                          {even(0.0, side_m), even(0.0, side_m), even(-1.0, 1.0)},
                          sigma_m};
            bool apart = true;
            for (const Sensor& other : layout.listening.sensors)
                apart = apart && distance_m(sensor.position_m, other.position_m) > 0.15 * side_m;
            if (apart) layout.listening.sensors.push_back(sensor);
        }
    }

    void hear(Layout& layout, bool with_wrong) {
        const std::size_t n = layout.listening.sensors.size();
        const Fall fall = falls[static_cast<std::size_t>(even(0.0, 5.999))];
        layout.fall = fall;
        std::vector<double> level(n), time(n), snr(n);
        double top = -1e300;
        for (std::size_t i = 0; i < n; ++i) {
            const Sensor& sensor = layout.listening.sensors[i];
            Position stood = sensor.position_m;
            for (double& coordinate : stood)
                coordinate += sensor.sigma_m * normal();
            const double r = std::max(least_range_m, distance_m(stood, layout.truth));
            time[i] = r / layout.speed_m_s * (1.0 + layout.medium.path_share * normal());
            if (even(0.0, 1.0) < 0.02) time[i] = even(-0.5, 0.5) * r / layout.medium.lowest_m_s;
            const double contact = even(0.0, 1.0) < 0.1 ? even(-30.0, 30.0) : 6.0 * normal();
            level[i] = -fall.per_decade_db * std::log10(r) - fall.per_metre_db * r + contact;
            top = std::max(top, level[i]);
        }
        layout.time_s = time;
        layout.level_db = level;
        const double best_snr_db = even(0.0, 30.0);
        layout.snr_over_level_db = best_snr_db - top;
        for (std::size_t i = 0; i < n; ++i) {
            const double snr_db = best_snr_db + level[i] - top;
            snr[i] = std::pow(10.0, snr_db / 10.0);
            if (snr_db < 3.0) continue; // not above the noise: no level, no delay (compare/ranking)
            layout.listening.levels.push_back({static_cast<int>(i), level[i], 0.5, snr_db});
            layout.lowest_snr_db = std::min(layout.lowest_snr_db, snr_db);
        }
        measure_delays(layout, time, snr, with_wrong);
    }

    void measure_delays(Layout& layout, const std::vector<double>& time,
                        const std::vector<double>& snr, bool with_wrong) {
        constexpr std::array<double, 4> own_shares{0.03, 0.1, 0.3, 1.0};
        const double own = own_shares[static_cast<std::size_t>(even(0.0, 3.999))];
        std::vector<double> late;
        for (const double r : snr)
            late.push_back(std::sqrt(1.0 - own) * delay_sigma_s(r, 1e6) * normal());
        const auto& sensors = layout.listening.sensors;
        for (const HeardLevel& a : layout.listening.levels)
            for (const HeardLevel& b : layout.listening.levels) {
                if (a.sensor >= b.sensor) continue;
                const auto i = static_cast<std::size_t>(a.sensor),
                           j = static_cast<std::size_t>(b.sensor);
                const double sigma = delay_sigma_s(snr[i], snr[j]);
                double delay =
                    time[j] + late[j] - time[i] - late[i] + std::sqrt(own) * sigma * normal();
                if (with_wrong && even(0.0, 1.0) < wrong_share_drawn) {
                    const double longest =
                        distance_m(sensors[i].position_m, sensors[j].position_m) /
                        layout.medium.lowest_m_s;
                    delay = even(-longest, longest);
                    layout.any_wrong = true;
                }
                layout.listening.delays.push_back({a.sensor, b.sensor, delay, sigma});
            }
    }

    /// Van Trees' bound: information of arrivals and levels at the truth, and of the prior, in
    /// which a uniform range counts as a normal density of its variance.
    void bound(Layout& layout) {
        const auto& heard = layout.listening.levels;
        const auto n = static_cast<Eigen::Index>(heard.size());
        if (n == 0) return;
        Eigen::MatrixXd slope(n, 4), loss(n, 4);
        Eigen::VectorXd weight(n);
        for (Eigen::Index k = 0; k < n; ++k) {
            const Sensor& sensor =
                layout.listening
                    .sensors[static_cast<std::size_t>(heard[static_cast<std::size_t>(k)].sensor)];
            const double r = distance_m(sensor.position_m, layout.truth);
            for (Eigen::Index d = 0; d < 3; ++d) {
                const auto i = static_cast<std::size_t>(d);
                const double unit = (layout.truth[i] - sensor.position_m[i]) / r;
                slope(k, d) = unit / layout.speed_m_s;
                loss(k, d) = (layout.fall.per_decade_db / (std::numbers::ln10 * r) +
                              layout.fall.per_metre_db) *
                             unit;
            }
            slope(k, 3) = -r / layout.speed_m_s;
            loss(k, 3) = 0.0;
            const double uneven = layout.medium.path_share * r;
            weight(k) = 1.0 / ((sensor.sigma_m * sensor.sigma_m + uneven * uneven) /
                                   (layout.speed_m_s * layout.speed_m_s) +
                               std::pow(18e-6, 2));
        }
        const auto information = [n](const Eigen::MatrixXd& g, const Eigen::VectorXd& w) {
            const Eigen::RowVectorXd mean = (w.asDiagonal() * g).colwise().sum() / w.sum();
            const Eigen::MatrixXd off = g - Eigen::VectorXd::Ones(n) * mean;
            return Eigen::MatrixXd(off.transpose() * w.asDiagonal() * off);
        };
        Eigen::MatrixXd total = information(slope, weight) +
                                information(loss, Eigen::VectorXd::Constant(n, 1.0 / 36.0));
        for (std::size_t d = 0; d < 3; ++d)
            total(static_cast<Eigen::Index>(d), static_cast<Eigen::Index>(d)) +=
                12.0 / std::pow(layout.space.high[d] - layout.space.low[d], 2);
        total(3, 3) +=
            12.0 / std::pow(std::log(layout.medium.highest_m_s / layout.medium.lowest_m_s), 2);
        layout.bound = total.inverse().topLeftCorner(2, 2);
    }

    std::mt19937_64 random_;
};

/// Whether the region of a share of the probability holds a point.
inline bool region_holds(const Place& place, double share, const Position& point) {
    const DensityMap& map = place.map;
    const int column = static_cast<int>(std::floor((point[0] - map.x_m) / map.pixel_x_m)),
              row = static_cast<int>(std::floor((point[1] - map.y_m) / map.pixel_y_m));
    if (column < 0 || row < 0 || column >= map.columns || row >= map.rows) return false;
    return map.at(column, row) >= region_threshold(map, share);
}

} // namespace lull
