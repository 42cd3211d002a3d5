// SPDX-License-Identifier: GPL-3.0-or-later
//
// How often this program's detector lists a sound, against its SNR: counted, with how sure that is.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

enum class SourceKind { knock, voice }; ///< knock: a group of 2 to 6

/// Sounds of one SNR on the best channel: how many were listed with a confidence of 0.5 and more.
struct RecallCount {
    double snr_db;
    int heard, of;
};

struct RecallPoint {
    double snr_db = 0.0;
    double recall = 0.0; ///< mean of what the counts leave possible
    double sigma = 0.0;  ///< its standard deviation
};

struct RecallCurve {
    std::vector<RecallPoint> points; ///< rising in snr_db; recall never falls
    std::string source;              ///< where the figures come from
};

/// What goes with every figure of audibility until the recall is counted on real sound.
inline constexpr std::string_view recall_caveat =
    "counted on made scenes; real sound was found less often";

/// From recall_counts.hpp, which scripts/measure_recall.py writes. Counts whose shares fall with
/// the SNR are pooled [isotonic regression, Ayer et al. 1955, Ann. Math. Stat. 26(4)]; each share's
/// mean and sigma are those of the beta distribution with Jeffreys' prior.
[[nodiscard]] RecallCurve recall_curve(SourceKind kind);

/// Straight lines between the points; from the first down to 0 over 6 dB, the last value above.
[[nodiscard]] RecallPoint recall_at(const RecallCurve& curve, double snr_db);

} // namespace lull
