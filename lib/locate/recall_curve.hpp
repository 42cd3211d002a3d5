// SPDX-License-Identifier: GPL-3.0-or-later
//
// The recall of this program's detector against SNR, from counts, with its uncertainty.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

enum class SourceKind { knock, voice }; ///< knock: a group of knocks

/// The activity round the counted sounds. any: all together.
enum class RecallGround { any, calm, weather, machines, people };

/// Sounds of one SNR on the best channel, and how many of them were listed with confidence 0.5 and
/// more. Heard by at least fewest_channels, and fewer than the next group's.
struct RecallCount {
    RecallGround ground;
    int fewest_channels;
    double snr_db;
    int heard, of;
};

struct RecallPoint {
    double snr_db = 0.0;
    double recall = 0.0; ///< mean, given the counts
    double sigma = 0.0;  ///< its standard deviation
};

struct RecallCurve {
    std::vector<RecallPoint> points;         ///< rising in snr_db; recall never falls
    RecallGround ground = RecallGround::any; ///< of the counts
    std::string source;                      ///< of the figures
};

/// Stands beside every figure of audibility until recall is counted on real sound.
inline constexpr std::string_view recall_caveat =
    "counted on made scenes; real sound was found less often";

/// The ground's name, as in the tool's option and in the curve's source.
[[nodiscard]] std::string_view ground_name(RecallGround ground);

/// A curve from recall_counts.hpp, which scripts/evaluate writes: for the ground and the number of
/// channels (>= 1), or for any ground if fewer than 100 sounds were counted on that one. Mean and
/// sigma are those of the beta distribution with Jeffreys' prior. Counts whose means fall with the
/// SNR are pooled [isotonic regression, Ayer et al. 1955, Ann. Math. Stat. 26(4)].
[[nodiscard]] RecallCurve recall_curve(SourceKind kind, int channels,
                                       RecallGround ground = RecallGround::any);

/// Linear between the points; below the first falling to 0 within 6 dB; above the last constant.
[[nodiscard]] RecallPoint recall_at(const RecallCurve& curve, double snr_db);

} // namespace lull
