// SPDX-License-Identifier: GPL-3.0-or-later
#include "locate/arrival_times.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>

namespace lull {
namespace {

constexpr double wrong_share = 0.05;     ///< prior share of delays that are grossly wrong
constexpr std::size_t most_suspects = 8; ///< delays that may be the wrong one
constexpr int most_wrong = 4;            ///< at the same time
constexpr std::size_t most_kept = 5;     ///< hypotheses
constexpr double least_kept = 2e-3;      ///< weight relative to the likeliest
/// Share of a delay's variance that is its own, equally likely. Above 1 means that sigmas are too
/// small.
constexpr std::array<double, 5> own_shares{0.03, 0.1, 0.3, 1.0, 3.0};

/// Divides values of pairs among their members, x_a + x_b = y_ab, by least squares with x >= 0,
/// starting from equal shares.
std::vector<double> shares_of(const std::vector<HeardDelay>& pairs, const std::vector<double>& y,
                              std::size_t sensors) {
    std::vector<double> x(sensors), sum(sensors);
    std::vector<int> count(sensors);
    const auto at = [](int i) { return static_cast<std::size_t>(i); };
    for (std::size_t k = 0; k < pairs.size(); ++k)
        for (const int s : {pairs[k].a, pairs[k].b}) {
            x[at(s)] += 0.5 * y[k];
            ++count[at(s)];
        }
    for (std::size_t s = 0; s < sensors; ++s)
        x[s] /= std::max(1, count[s]);
    for (int round = 0; round < 40; ++round)
        for (std::size_t s = 0; s < sensors; ++s) {
            double total = 0.0;
            for (std::size_t k = 0; k < pairs.size(); ++k) {
                if (at(pairs[k].a) == s) total += y[k] - x[at(pairs[k].b)];
                if (at(pairs[k].b) == s) total += y[k] - x[at(pairs[k].a)];
            }
            if (count[s] > 0) x[s] = std::max(0.0, total / count[s]);
        }
    return x;
}

/// Least squares of arrivals from the delays within one connected set of sensors.
struct Fit {
    std::vector<int> sensors;
    Eigen::VectorXd time;       ///< the first is 0
    Eigen::MatrixXd covariance; ///< of the others
    double chi2 = 0.0, log_det_delays = 0.0, log_det_normal = 0.0;
    std::vector<double> residual; ///< of each delay, in sigmas
};

Fit fit_tied(const std::vector<HeardDelay>& delays, std::vector<int> sensors,
             const std::vector<double>& weight) {
    Fit fit;
    const auto n = static_cast<Eigen::Index>(sensors.size());
    const auto row = [&](int s) {
        return static_cast<Eigen::Index>(std::ranges::find(sensors, s) - sensors.begin()) - 1;
    };
    Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(n - 1, n - 1);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(n - 1);
    for (std::size_t k = 0; k < delays.size(); ++k) {
        const Eigen::Index a = row(delays[k].a), b = row(delays[k].b);
        const double w = weight[k];
        if (a >= 0) normal(a, a) += w, right(a) -= w * delays[k].delay_s;
        if (b >= 0) normal(b, b) += w, right(b) += w * delays[k].delay_s;
        if (a >= 0 && b >= 0) normal(a, b) -= w, normal(b, a) -= w;
        fit.log_det_delays -= std::log(w);
    }
    const Eigen::LLT<Eigen::MatrixXd> factor(normal);
    const Eigen::VectorXd solved = factor.solve(right);
    fit.covariance = factor.solve(Eigen::MatrixXd::Identity(n - 1, n - 1));
    for (Eigen::Index i = 0; i + 1 < n; ++i)
        fit.log_det_normal += 2.0 * std::log(factor.matrixL()(i, i));
    fit.time = Eigen::VectorXd::Zero(n);
    fit.time.tail(n - 1) = solved;
    for (std::size_t k = 0; k < delays.size(); ++k) {
        const double rest =
            (delays[k].delay_s - fit.time(row(delays[k].b) + 1) + fit.time(row(delays[k].a) + 1)) *
            std::sqrt(weight[k]);
        fit.residual.push_back(rest);
        fit.chi2 += rest * rest;
    }
    fit.sensors = std::move(sensors);
    return fit;
}

std::vector<double> weights_of(const std::vector<HeardDelay>& delays) {
    std::vector<double> weight;
    for (const HeardDelay& delay : delays)
        weight.push_back(1.0 / (delay.sigma_s * delay.sigma_s));
    return weight;
}

/// Connected sets of sensors, in order of their first sensor. Delays connect.
std::vector<std::vector<int>> tied_sets(const std::vector<HeardDelay>& delays,
                                        std::size_t sensors) {
    std::vector<int> set(sensors);
    std::iota(set.begin(), set.end(), 0);
    for (const HeardDelay& delay : delays) {
        const int from = set[static_cast<std::size_t>(delay.b)],
                  to = set[static_cast<std::size_t>(delay.a)];
        if (from != to) std::ranges::replace(set, std::max(from, to), std::min(from, to));
    }
    std::vector<std::vector<int>> sets;
    for (std::size_t s = 0; s < sensors; ++s) {
        std::vector<int> members;
        for (std::size_t t = 0; t < sensors; ++t)
            if (set[t] == static_cast<int>(s)) members.push_back(static_cast<int>(t));
        if (members.size() > 1) sets.push_back(std::move(members));
    }
    return sets;
}

/// The delays' own share of their variance, from the closure: mean over own_shares, and ln of the
/// closure's probability summed over them.
struct OwnPart {
    double share = 0.0, log_evidence = 0.0;
};

OwnPart own_part(double chi2, double degrees) {
    std::array<double, own_shares.size()> logs{};
    for (std::size_t i = 0; i < logs.size(); ++i)
        logs[i] = -0.5 * degrees * std::log(own_shares[i]) - 0.5 * chi2 / own_shares[i];
    const double top = *std::ranges::max_element(logs);
    double sum = 0.0, mean = 0.0;
    for (std::size_t i = 0; i < logs.size(); ++i) {
        sum += std::exp(logs[i] - top);
        mean += std::exp(logs[i] - top) * own_shares[i];
    }
    return {mean / sum, top + std::log(sum / static_cast<double>(logs.size()))};
}

TiedArrivals tied_arrivals(const Fit& fit, const std::vector<HeardDelay>& delays,
                           std::size_t sensors, double own_share) {
    std::vector<HeardDelay> pairs;
    std::vector<double> fitted;
    for (std::size_t i = 0; i < fit.sensors.size(); ++i)
        for (std::size_t j = i + 1; j < fit.sensors.size(); ++j) {
            const auto b = static_cast<Eigen::Index>(j) - 1, a = static_cast<Eigen::Index>(i) - 1;
            double variance = fit.covariance(b, b);
            if (a >= 0) variance += fit.covariance(a, a) - 2.0 * fit.covariance(a, b);
            pairs.push_back({fit.sensors[i], fit.sensors[j], 0.0, 0.0});
            fitted.push_back(variance);
        }
    std::vector<double> stated;
    for (const HeardDelay& delay : delays)
        stated.push_back(delay.sigma_s * delay.sigma_s);
    const std::vector<double> own = shares_of(pairs, fitted, sensors);
    const std::vector<double> common = shares_of(delays, stated, sensors);
    TiedArrivals tied;
    for (std::size_t i = 0; i < fit.sensors.size(); ++i) {
        const auto s = static_cast<std::size_t>(fit.sensors[i]);
        tied.sensors.push_back(fit.sensors[i]);
        tied.time_s.push_back(fit.time(static_cast<Eigen::Index>(i)));
        tied.variance_s2.push_back(std::max(0.0, 1.0 - own_share) * common[s] + own_share * own[s]);
    }
    return tied;
}

/// One hypothesis.
/// \param log_volume  gets ln of the prior density of the arrivals' differences, for comparison
///                    between hypotheses
ArrivalHypothesis hypothesis_of(const Listening& listening, const std::vector<double>& longest_s,
                                std::vector<int> wrong, double& log_volume) {
    ArrivalHypothesis result;
    std::vector<HeardDelay> good;
    double mean_log = 0.0;
    for (std::size_t k = 0; k < listening.delays.size(); ++k) {
        const double log_density = -std::log(2.0 * longest_s[k]);
        mean_log += log_density / static_cast<double>(listening.delays.size());
        const bool is_wrong = std::ranges::count(wrong, static_cast<int>(k)) > 0;
        result.log_weight +=
            is_wrong ? std::log(wrong_share) + log_density : std::log(1.0 - wrong_share);
        if (!is_wrong) good.push_back(listening.delays[k]);
    }
    result.wrong = std::move(wrong);
    log_volume = 0.0;
    for (const auto& set : tied_sets(good, listening.sensors.size())) {
        std::vector<HeardDelay> inside;
        for (const HeardDelay& delay : good)
            if (std::ranges::count(set, delay.a) > 0) inside.push_back(delay);
        const Fit fit = fit_tied(inside, set, weights_of(inside));
        const auto rank = static_cast<double>(set.size() - 1);
        const double degrees = static_cast<double>(inside.size()) - rank;
        const OwnPart own = own_part(fit.chi2, degrees);
        result.log_weight += own.log_evidence - 0.5 * (degrees * std::log(2.0 * std::numbers::pi) +
                                                       fit.log_det_delays + fit.log_det_normal);
        log_volume += rank * mean_log;
        result.tied.push_back(tied_arrivals(fit, inside, listening.sensors.size(), own.share));
    }
    return result;
}

/// The delays that fit the others worst, by a robust fit.
std::vector<int> suspects(const Listening& listening) {
    std::vector<double> misfit(listening.delays.size());
    for (const auto& set : tied_sets(listening.delays, listening.sensors.size())) {
        std::vector<HeardDelay> inside;
        std::vector<std::size_t> index;
        for (std::size_t k = 0; k < listening.delays.size(); ++k)
            if (std::ranges::count(set, listening.delays[k].a) > 0) {
                inside.push_back(listening.delays[k]);
                index.push_back(k);
            }
        const std::vector<double> plain = weights_of(inside);
        std::vector<double> weight = plain;
        for (int round = 0; round < 12; ++round) {
            const Fit fit = fit_tied(inside, set, weight);
            for (std::size_t k = 0; k < inside.size(); ++k) {
                misfit[index[k]] = std::abs(fit.residual[k]) * std::sqrt(plain[k] / weight[k]);
                weight[k] = plain[k] / (1.0 + misfit[index[k]] * misfit[index[k]]);
            }
        }
    }
    std::vector<int> order(misfit.size());
    std::iota(order.begin(), order.end(), 0);
    std::ranges::stable_sort(order, [&](int a, int b) {
        return misfit[static_cast<std::size_t>(a)] > misfit[static_cast<std::size_t>(b)];
    });
    if (order.size() > most_suspects) order.resize(most_suspects);
    return order;
}

} // namespace

std::vector<ArrivalHypothesis> arrival_hypotheses(const Listening& listening,
                                                  const std::vector<double>& longest_s) {
    const std::vector<int> suspect = suspects(listening);
    std::vector<std::pair<double, ArrivalHypothesis>> found;
    for (unsigned set = 0; set < 1U << suspect.size(); ++set) {
        std::vector<int> wrong;
        for (std::size_t k = 0; k < suspect.size(); ++k)
            if ((set >> k & 1U) != 0) wrong.push_back(suspect[k]);
        if (static_cast<int>(wrong.size()) > most_wrong) continue;
        double log_volume = 0.0;
        ArrivalHypothesis one = hypothesis_of(listening, longest_s, std::move(wrong), log_volume);
        const double score = one.log_weight + log_volume;
        found.emplace_back(score, std::move(one));
    }
    std::ranges::stable_sort(found, [](const auto& a, const auto& b) { return a.first > b.first; });
    std::vector<ArrivalHypothesis> kept;
    for (auto& [score, one] : found) {
        if (kept.size() == most_kept || score < found.front().first + std::log(least_kept)) break;
        kept.push_back(std::move(one));
    }
    return kept;
}

} // namespace lull
