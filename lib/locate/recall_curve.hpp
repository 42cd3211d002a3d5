// SPDX-License-Identifier: GPL-3.0-or-later
//
// How often this program's detector lists a sound, against its SNR: kept as data.
#pragma once

#include <array>

namespace lull {

enum class SourceKind { knock, voice };

/// Share of sounds that are listed with a confidence of 0.5 and more, at an SNR on the best
/// channel.
struct RecallPoint {
    double snr_db, recall;
};

struct RecallCurve {
    std::array<RecallPoint, 7> points; ///< rising in snr_db; straight lines between, 0 below the
                                       ///< first, the last value above
    const char* source;                ///< where the figures come from
    bool measured;
};

/// Provisional: logistic curves round what the detector's least likelihood ratio implies (half at
/// 12 dB for a knock, 10 dB for a voice), not counted from scenes.
inline constexpr RecallCurve knock_recall{{{{3.0, 0.0},
                                            {6.0, 0.05},
                                            {9.0, 0.18},
                                            {12.0, 0.50},
                                            {15.0, 0.80},
                                            {18.0, 0.92},
                                            {24.0, 0.97}}},
                                          "provisional, not measured",
                                          false};
inline constexpr RecallCurve voice_recall{{{{1.0, 0.0},
                                            {4.0, 0.05},
                                            {7.0, 0.18},
                                            {10.0, 0.50},
                                            {13.0, 0.80},
                                            {16.0, 0.90},
                                            {22.0, 0.95}}},
                                          "provisional, not measured",
                                          false};

[[nodiscard]] constexpr const RecallCurve& recall_curve(SourceKind kind) {
    return kind == SourceKind::knock ? knock_recall : voice_recall;
}

[[nodiscard]] constexpr double recall_at(const RecallCurve& curve, double snr_db) {
    if (snr_db <= curve.points.front().snr_db) return 0.0;
    for (std::size_t i = 1; i < curve.points.size(); ++i) {
        const RecallPoint &a = curve.points[i - 1], &b = curve.points[i];
        if (snr_db < b.snr_db)
            return a.recall + (b.recall - a.recall) * (snr_db - a.snr_db) / (b.snr_db - a.snr_db);
    }
    return curve.points.back().recall;
}

} // namespace lull
