// SPDX-License-Identifier: GPL-3.0-or-later
//
// How often this program's detector lists a sound, against its SNR: counted, with how sure that is.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull {

enum class SourceKind { knock, voice }; ///< knock: a group of them

/// What went on around the sounds that were counted. any: all of them together.
enum class RecallGround { any, calm, weather, machines, people };

/// Sounds of one SNR on the best channel: how many were listed with a confidence of 0.5 and more.
/// They were heard with fewest_channels and more, to the fewest of the next group.
struct RecallCount {
    RecallGround ground;
    int fewest_channels;
    double snr_db;
    int heard, of;
};

struct RecallPoint {
    double snr_db = 0.0;
    double recall = 0.0; ///< mean of what the counts leave possible
    double sigma = 0.0;  ///< its standard deviation
};

struct RecallCurve {
    std::vector<RecallPoint> points;         ///< rising in snr_db; recall never falls
    RecallGround ground = RecallGround::any; ///< whose counts these are
    std::string source;                      ///< where the figures come from
};

/// What goes with every figure of audibility until the recall is counted on real sound.
inline constexpr std::string_view recall_caveat =
    "counted on made scenes; real sound was found less often";

/// The ground's name, as the tool's option and the curve's source have it.
[[nodiscard]] std::string_view ground_name(RecallGround ground);

/// From recall_counts.hpp, which scripts/evaluate writes: those of the ground and of as many
/// channels (>= 1), or of any ground where fewer than 100 sounds were counted on that one. Each
/// share's mean and sigma are those of the beta distribution with Jeffreys' prior; counts whose
/// means fall with the SNR are pooled [isotonic regression, Ayer et al. 1955, Ann. Math. Stat.
/// 26(4)].
[[nodiscard]] RecallCurve recall_curve(SourceKind kind, int channels,
                                       RecallGround ground = RecallGround::any);

/// Straight lines between the points; from the first down to 0 over 6 dB, the last value above.
[[nodiscard]] RecallPoint recall_at(const RecallCurve& curve, double snr_db);

} // namespace lull
