// SPDX-License-Identifier: GPL-3.0-or-later
//
// The figures of grades, each with its 95 % interval. A figure that too few observations cannot
// give has no value, never 0.
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace lull {

/// Normal deviate with 2.5 % above it.
inline constexpr double deviate_95 = 1.959963984540054;

/// A figure and the 95 % interval around it.
struct Estimate {
    std::optional<double> value;
    std::optional<double> low, high;
};

/// A share of counted things, with the score interval [published: Wilson 1927, JASA 22, 209-212].
/// Empty when total is 0.
/// \param part  0..total
[[nodiscard]] Estimate proportion(int part, int total);

/// The counts of event-based scoring [published: Mesaros, Heittola & Virtanen 2016, Applied
/// Sciences 6(6):162].
struct Counts {
    int hits = 0;        ///< answers paired with a truth
    int misses = 0;      ///< truths without an answer
    int false_calls = 0; ///< answers without a truth
};

[[nodiscard]] Estimate precision_of(const Counts& counts); ///< hits / (hits + false calls)
[[nodiscard]] Estimate recall_of(const Counts& counts);    ///< hits / (hits + misses)

/// 2 hits / (2 hits + misses + false calls). Its interval: let J be the share of hits among hits,
/// misses and false calls. F = 2J / (1 + J) rises with J, so it maps Wilson's interval of J to one
/// of F.
[[nodiscard]] Estimate f_score_of(const Counts& counts);

/// Difference of two shares, second minus first. Interval from both Wilson intervals [published:
/// Newcombe 1998, Statistics in Medicine 17, 873-890, method 10]. Empty when a total is 0.
[[nodiscard]] Estimate change_of_share(int first_part, int first_total, int second_part,
                                       int second_total);

/// The median, and the interval between two order statistics that holds it in at least 95 of 100
/// cases whatever the distribution (sign test). Below six values there is no interval.
[[nodiscard]] Estimate median_of(std::vector<double> values);

/// p-quantile of the standard normal, 0 < p < 1; good to 1e-13.
[[nodiscard]] double normal_quantile(double p);

struct Detectability {
    Estimate d_prime;   ///< z(hit rate) - z(false-alarm rate)
    Estimate criterion; ///< c = -(z(hit rate) + z(false-alarm rate)) / 2; positive: rarely says yes
    bool corrected = false; ///< a rate was 0 or 1, so the log-linear rule was used
};

/// d' and c over listening slots [published: Macmillan & Creelman 2005, Detection Theory]. If a
/// rate is 0 or 1, both become (yes + 0.5) / (slots + 1), the log-linear rule [published: Hautus
/// 1995]. Intervals from the variance of z [published: Gourevitch & Galanter 1967]. Empty when
/// there is no slot with a signal, or none without.
[[nodiscard]] Detectability detectability(int yes_with_signal, int with_signal,
                                          int yes_without_signal, int without_signal);

struct Agreement {
    Estimate kappa;        ///< empty when chance alone would always agree
    double observed = 0.0; ///< share of slots with equal categories
    double by_chance = 0.0;
    int slots = 0;
};

/// Cohen's kappa [published: Cohen 1960], interval from the large-sample standard error [published:
/// Fleiss, Cohen & Everitt 1969, Psychological Bulletin 72, 323-327].
/// \param counts  categories * categories counts, first reviewer's category by row
[[nodiscard]] Agreement cohen_kappa(std::span<const int> counts, int categories);

} // namespace lull
