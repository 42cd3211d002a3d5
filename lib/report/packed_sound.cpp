// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/packed_sound.hpp"

#include "recording/opus.hpp"
#include "signal/extent.hpp"
#include "signal/resampler.hpp"

#include <algorithm>

namespace lull {

ExcerptSound pack_sound(std::span<const float> samples, double rate_hz, double from_s, int channel,
                        const ExcerptRules& rules) {
    std::vector<float> thinned;
    Resampler resampler(rate_hz, opus_rate_hz);
    resampler.push(samples, thinned);
    resampler.finish(thinned);
    ExcerptSound sound;
    sound.about.channels = {channel};
    sound.about.from_s = from_s;
    sound.about.to_s = from_s + static_cast<double>(thinned.size()) / opus_rate_hz;
    if (thinned.empty()) return sound;
    const Extent extent = extent_of(thinned);
    const auto mean = static_cast<float>(extent.sum / static_cast<double>(thinned.size()));
    const auto largest = std::max(extent.high - mean, mean - extent.low);
    if (const auto level_db = amplitude_db(largest))
        sound.about.gain_db = std::min(rules.peak_db - *level_db, rules.largest_gain_db);
    const auto gain = static_cast<float>(db_to_amplitude(sound.about.gain_db));
    for (float& sample : thinned)
        sample = gain * (sample - mean);
    sound.bytes = to_opus(thinned, packed_bits_a_second);
    return sound;
}

} // namespace lull
