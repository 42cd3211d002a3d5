// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/scale_changes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull {

ScaleChanges::ScaleChanges(const Recording& recording, int channel, Frame reference) {
    const Channel& own = recording.channels[static_cast<std::size_t>(channel)];
    const auto offset_db = [&](double time_s) {
        return level_scale(channel_at(recording.session, own, time_s)).offset_db;
    };
    const double reference_db = offset_db(recording.seconds(reference));
    double last_db = offset_db(0.0);
    factors_.emplace_back(0, db_to_power(last_db - reference_db));
    for (const Change& change : recording.session.changes) {
        if (change.channel != own.name || change.from_s <= 0.0) continue;
        const double now_db = offset_db(change.from_s);
        if (now_db == last_db) continue;
        const auto frame = static_cast<Frame>(std::llround(change.from_s * recording.rate_hz));
        factors_.emplace_back(frame, db_to_power(now_db - reference_db));
        last_db = now_db;
    }
}

double ScaleChanges::factor(Frame frame) const {
    double factor = factors_.empty() ? 1.0 : factors_.front().second;
    for (const auto& [from, value] : factors_)
        if (from <= frame) factor = value;
    return factor;
}

bool ScaleChanges::within(Frame begin, Frame end, Frame settling) const {
    for (std::size_t i = 1; i < factors_.size(); ++i) {
        const double jump_db = 10.0 * std::log10(factors_[i].second / factors_[i - 1].second);
        const auto disturbed =
            static_cast<Frame>(static_cast<double>(settling) * (1.0 + std::fabs(jump_db) / 30.0));
        if (factors_[i].first > begin - disturbed && factors_[i].first < end) return true;
    }
    return false;
}

double ScaleChanges::least_factor(Frame begin, Frame end) const {
    double least = factor(begin);
    for (const auto& [from, value] : factors_)
        if (from > begin && from < end) least = std::min(least, value);
    return least;
}

void refer_powers(std::span<float> power, std::size_t bands, Frame first, Frame hop,
                  const ScaleChanges& changes, Frame settling) {
    if (changes.none()) return;
    for (std::size_t i = 0; (i + 1) * bands <= power.size(); ++i) {
        const Frame begin = first + static_cast<Frame>(i) * hop;
        const float factor = changes.within(begin, begin + hop, settling)
                                 ? std::numeric_limits<float>::quiet_NaN()
                                 : static_cast<float>(changes.factor(begin));
        for (float& value : power.subspan(i * bands, bands))
            value *= factor;
    }
}

void unrefer_floor(FloorTrack& floor, const ScaleChanges& changes) {
    if (changes.none()) return;
    for (std::size_t i = 0; i < floor.power.size(); ++i) {
        const Frame begin = floor.first + static_cast<Frame>(i) * floor.hop;
        floor.power[i] = static_cast<float>(static_cast<double>(floor.power[i]) /
                                            changes.least_factor(begin, begin + floor.hop));
    }
}

} // namespace lull
