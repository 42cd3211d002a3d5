// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/voices.hpp"

#include "detect/arrivals.hpp"
#include "detect/internal/log_bands.hpp"
#include "detect/internal/voice_network.hpp"
#include "signal/resampler.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double frame_s = log_band_frame_s;
constexpr double raster_s = 2.0; ///< a whole number of frames: spans begin on it, so that a frame
                                 ///< is the same whoever asks for it
constexpr double around_s = 1.0; ///< looked at before and after what lasts
constexpr double needed_s = 8.0; ///< that a frame depends on, before and after: the mean of its
                                 ///< bands and the network's context
constexpr double longest_span_s = 60.0;
constexpr double piece_s = 2.0;           ///< decoded at once
constexpr std::size_t smooth = 11;        ///< frames: 0.18 s
constexpr float silent = -20.0F;          ///< log odds where nothing was looked at
constexpr float likely = 0.0F;            ///< log odds of a voice that is likelier than not
constexpr float suspected = -3.0F;        ///< and of one that may be
constexpr std::size_t longest_gap = 37;   ///< frames: 0.6 s between words of one call
constexpr std::size_t beside_likely = 31; ///< frames: 0.5 s of a voice's own rise and fall
static_assert(voice_context * frame_s + log_band_context * frame_s < needed_s + around_s);

using Spans = std::vector<std::pair<double, double>>;

/// Sorted, on the raster, apart, none longer than longest_span_s.
Spans spans_of(Spans where, double from_s, double to_s) {
    std::erase_if(where, [&](const auto& one) { return one.second < from_s || one.first > to_s; });
    std::sort(where.begin(), where.end());
    Spans spans;
    for (const auto& [begin_s, end_s] : where) {
        const double first =
            raster_s * std::floor((std::max(begin_s, from_s) - around_s) / raster_s);
        const double last = raster_s * std::ceil((std::min(end_s, to_s) + around_s) / raster_s);
        if (!spans.empty() && first <= spans.back().second + needed_s)
            spans.back().second = std::max(spans.back().second, last);
        else
            spans.emplace_back(std::max(0.0, first), last);
    }
    Spans parts;
    for (auto [first, last] : spans) {
        for (; last - first > longest_span_s; first += longest_span_s)
            parts.emplace_back(first, first + longest_span_s);
        parts.emplace_back(first, last);
    }
    return parts;
}

/// Log odds over the time that a unit looks at, frame by frame from `first_s`.
class OddsTrack {
  public:
    OddsTrack(const UnitInput& unit, double from_s, double to_s)
        : unit_(unit),
          first_s_(std::max(0.0, raster_s * std::floor(from_s / raster_s) - raster_s)) {
        const auto frames = static_cast<std::size_t>((to_s + 2.0 * raster_s - first_s_) / frame_s);
        joint.assign(frames, silent);
        own.assign(unit.channels.size(), joint);
        for (const ChannelTracks& channel : unit.channels)
            kinds_.push_back(channel.channel ? channel.channel->kind : ChannelKind::unknown);
    }

    [[nodiscard]] double time_of(std::size_t frame) const {
        return first_s_ + static_cast<double>(frame) * frame_s;
    }

    void look_at(double begin_s, double end_s) {
        const double from_s = std::max(0.0, begin_s - needed_s);
        const VoiceOdds odds = voice_odds(bands_of(from_s, end_s + needed_s), kinds_);
        const auto skip = static_cast<std::size_t>(std::llround((begin_s - from_s) / frame_s));
        const auto count = static_cast<std::size_t>(std::llround((end_s - begin_s) / frame_s));
        for (std::size_t i = skip; i < std::min(skip + count, odds.all.size()); ++i) {
            const double at_s = from_s + (static_cast<double>(i) + 0.5) * frame_s;
            if (at_s < first_s_) continue;
            const auto to = static_cast<std::size_t>((at_s - first_s_) / frame_s);
            if (to >= joint.size()) break;
            for (std::size_t c = 0; c < own.size(); ++c)
                own[c][to] = odds.own[c][i];
            joint[to] = odds.all[i];
        }
    }

    std::vector<float> joint;            ///< what all channels hear together
    std::vector<std::vector<float>> own; ///< a channel each

  private:
    std::vector<std::vector<float>> bands_of(double from_s, double to_s) {
        const auto frame_of = [&](double at_s) {
            return static_cast<Frame>(std::llround(at_s * unit_.rate_hz));
        };
        std::vector<Resampler> resamplers;
        for (std::size_t c = 0; c < own.size(); ++c)
            resamplers.emplace_back(unit_.rate_hz, log_band_rate_hz);
        std::vector<std::vector<float>> samples(own.size());
        for (std::vector<float>& channel : samples) // and some for what a resampler may hold back
            channel.reserve(static_cast<std::size_t>((to_s - from_s + piece_s) * log_band_rate_hz));
        for (double at_s = from_s; at_s < to_s; at_s += piece_s) {
            const Frame first = frame_of(at_s);
            const Block& block = unit_.raw(first, frame_of(std::min(at_s + piece_s, to_s)) - first);
            for (std::size_t c = 0; c < own.size() && block.frames > 0; ++c)
                resamplers[c].push(block.channel(static_cast<int>(c)), samples[c]);
        }
        std::vector<std::vector<float>> bands;
        for (std::size_t c = 0; c < own.size(); ++c) {
            resamplers[c].finish(samples[c]);
            bands.push_back(log_bands(samples[c]));
            samples[c] = {};
        }
        return bands;
    }

    const UnitInput& unit_;
    double first_s_;
    std::vector<ChannelKind> kinds_;
};

/// Means over `smooth` frames, centred.
std::vector<float> smoothed(const std::vector<float>& odds) {
    std::vector<float> means(odds.size());
    constexpr std::size_t half = smooth / 2;
    double sum = 0.0;
    for (std::size_t i = 0; i < odds.size() + half; ++i) {
        if (i < odds.size()) sum += std::max(odds[i], silent);
        if (i >= smooth) sum -= std::max(odds[i - smooth], silent);
        if (i < half) continue;
        const std::size_t centre = i - half;
        const std::size_t begin = centre - std::min(centre, half);
        const std::size_t end = std::min(odds.size(), centre + half + 1);
        means[centre] = static_cast<float>(sum / static_cast<double>(end - begin));
    }
    return means;
}

struct VoicedRange {
    std::size_t begin = 0, end = 0;
    bool cut = false;
};

/// Frames over a limit, over gaps that are short. \param open  frames that may be taken
std::vector<VoicedRange> over(const std::vector<float>& odds, float limit,
                              const std::vector<char>& open) {
    std::vector<VoicedRange> ranges;
    for (std::size_t i = 0; i < odds.size(); ++i) {
        if (odds[i] < limit || !open[i]) continue;
        if (!ranges.empty() && i - ranges.back().end <= longest_gap &&
            std::find(open.begin() + static_cast<std::ptrdiff_t>(ranges.back().end),
                      open.begin() + static_cast<std::ptrdiff_t>(i),
                      0) == open.begin() + static_cast<std::ptrdiff_t>(i))
            ranges.back().end = i + 1;
        else
            ranges.push_back({i, i + 1});
    }
    return ranges;
}

/// Cuts what is longer than is followed where it is least a voice.
std::vector<VoicedRange> parted(VoicedRange range, const std::vector<float>& odds) {
    const auto most = static_cast<std::size_t>(longest_sound_s / frame_s);
    std::vector<VoicedRange> parts;
    while (range.end - range.begin > most) {
        const auto first = odds.begin() + static_cast<std::ptrdiff_t>(range.begin + most / 2);
        const auto last = odds.begin() + static_cast<std::ptrdiff_t>(range.begin + most);
        const auto at = static_cast<std::size_t>(std::min_element(first, last) - odds.begin());
        parts.push_back({range.begin, at, true});
        range.begin = at;
    }
    parts.push_back(range);
    return parts;
}

} // namespace

std::vector<VoiceStretch> find_voices(const UnitInput& unit, Spans where) {
    const double core_begin_s = static_cast<double>(unit.core_begin) / unit.rate_hz;
    const double core_end_s = static_cast<double>(unit.core_end) / unit.rate_hz;
    const double from_s = core_begin_s - needed_s;
    const double to_s = core_end_s + longest_sound_s;
    OddsTrack track(unit, std::max(0.0, from_s), to_s);
    for (const auto& [begin_s, end_s] : spans_of(std::move(where), from_s, to_s))
        track.look_at(begin_s, end_s);
    const std::vector<float> joint = smoothed(track.joint);
    std::vector<std::vector<float>> own;
    for (const std::vector<float>& odds : track.own)
        own.push_back(smoothed(odds));
    std::vector<char> open(joint.size(), 1);
    std::vector<VoicedRange> ranges = over(joint, likely, open);
    for (const VoicedRange& range : ranges)
        std::fill(open.begin() + static_cast<std::ptrdiff_t>(range.begin -
                                                             std::min(range.begin, beside_likely)),
                  open.begin() +
                      static_cast<std::ptrdiff_t>(std::min(open.size(), range.end + beside_likely)),
                  char{0});
    const std::vector<VoicedRange> faint = over(joint, suspected, open);
    ranges.insert(ranges.end(), faint.begin(), faint.end());
    std::sort(ranges.begin(), ranges.end(),
              [](const VoicedRange& a, const VoicedRange& b) { return a.begin < b.begin; });
    std::vector<VoiceStretch> voices;
    for (const VoicedRange& range : ranges) {
        for (const VoicedRange& part : parted(range, joint)) {
            const auto largest = [&](const std::vector<float>& odds) {
                return *std::max_element(odds.begin() + static_cast<std::ptrdiff_t>(part.begin),
                                         odds.begin() + static_cast<std::ptrdiff_t>(part.end));
            };
            VoiceStretch voice{
                track.time_of(part.begin), track.time_of(part.end), largest(joint), {}, part.cut};
            for (const std::vector<float>& odds : own)
                voice.own.push_back(largest(odds));
            voices.push_back(std::move(voice));
        }
    }
    return voices;
}

} // namespace lull
