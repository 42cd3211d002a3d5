// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/voice_network.hpp"

#include "clones.hpp"
#include "detect/internal/log_bands.hpp"
#include "models/voice_model.hpp" // made of data/models/voice.json when it is built

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstring>

namespace lull {

namespace {

// Else data/models/voice.json was fitted on other log bands than are computed here.
static_assert(voice_model::schema == log_band_schema);

constexpr std::size_t width = 40; ///< values a frame within the network
constexpr std::size_t blocks = 7; ///< their dilations double from 1
constexpr std::size_t taps = 3;
constexpr std::size_t inputs = log_band_count + 1; ///< the last tells the kind of channel
constexpr std::size_t classes = 5;                 ///< voice is the first

constexpr std::size_t dense(std::size_t in, std::size_t out) {
    return (in + 1) * out;
}
constexpr std::size_t block_size = dense(taps * width, width);
static_assert(voice_model::weight_count == dense(inputs, width) + dense(2 * width, width) +
                                               2 * blocks * block_size + 2 * dense(width, classes));

/// Takes the weights of one layer after another: [in][out], then what is added to each out.
class Layers {
  public:
    const float* take(std::size_t count) {
        const float* first = next_;
        next_ += count;
        return first;
    }

  private:
    const float* next_ = voice_model::weights();
};

constexpr std::size_t lane_count = 8;
using Lanes = float __attribute__((vector_size(lane_count * sizeof(float))));
constexpr std::size_t vectors = width / lane_count;
static_assert(vectors * lane_count == width);

/// Adds to the sums of two frames the products of their inputs with the weights [in][width].
LULL_CLONES void add_products(const float* first, const float* second, std::size_t count,
                              const float* weights, float* sums) {
    Lanes a[vectors], b[vectors];
    std::memcpy(a, sums, sizeof(a));
    std::memcpy(b, sums + width, sizeof(b));
    for (std::size_t i = 0; i < count; ++i) {
        for (std::size_t v = 0; v < vectors; ++v) {
            Lanes w;
            std::memcpy(&w, weights + i * width + v * lane_count, sizeof(w));
            a[v] += first[i] * w;
            b[v] += second[i] * w;
        }
    }
    std::memcpy(sums, a, sizeof(a));
    std::memcpy(sums + width, b, sizeof(b));
}

using Frames = std::vector<float>; ///< [frame * width]

/// A convolution over frames and what is left above zero; added to the input where `stays`.
Frames convolve(const std::vector<float>& in, std::size_t in_width, std::size_t tap_count,
                std::size_t dilation, const float* weights, bool stays) {
    const std::size_t frames = in.size() / in_width;
    const float* bias = weights + tap_count * in_width * width;
    const std::vector<float> level(in_width, 0.0F);
    const auto row = [&](std::size_t frame, std::size_t tap) {
        const std::size_t ahead = frame + tap * dilation;
        const std::size_t back = (tap_count / 2) * dilation;
        return ahead < back || ahead - back >= frames ? level.data()
                                                      : in.data() + (ahead - back) * in_width;
    };
    Frames out(frames * width);
    std::array<float, 2 * width> sums{};
    for (std::size_t t = 0; t < frames; t += 2) {
        std::copy_n(bias, width, sums.begin());
        std::copy_n(bias, width, sums.begin() + width);
        for (std::size_t tap = 0; tap < tap_count; ++tap)
            add_products(row(t, tap), row(t + 1, tap), in_width, weights + tap * in_width * width,
                         sums.data());
        const std::size_t count = std::min<std::size_t>(2, frames - t) * width;
        for (std::size_t i = 0; i < count; ++i)
            out[t * width + i] = std::max(sums[i], 0.0F) + (stays ? in[t * in_width + i] : 0.0F);
    }
    return out;
}

Frames through_blocks(Frames x, Layers& layers) {
    for (std::size_t k = 0; k < blocks; ++k)
        x = convolve(x, width, taps, std::size_t{1} << k, layers.take(block_size), true);
    return x;
}

/// Log odds of a voice.
std::vector<float> judged(const Frames& x, const float* weights) {
    std::vector<float> odds(x.size() / width);
    for (std::size_t t = 0; t < odds.size(); ++t) {
        odds[t] = weights[width * classes];
        for (std::size_t i = 0; i < width; ++i)
            odds[t] += x[t * width + i] * weights[i * classes];
    }
    return odds;
}

float number_of(ChannelKind kind) {
    return kind == ChannelKind::seismic ? 1.0F : kind == ChannelKind::air ? -1.0F : 0.0F;
}

std::vector<float> with_kind(const std::vector<float>& bands, ChannelKind kind) {
    const std::size_t frames = bands.size() / log_band_count;
    std::vector<float> rows(frames * inputs, number_of(kind));
    for (std::size_t t = 0; t < frames; ++t)
        std::copy_n(bands.begin() + static_cast<std::ptrdiff_t>(t * log_band_count), log_band_count,
                    rows.begin() + static_cast<std::ptrdiff_t>(t * inputs));
    return rows;
}

/// Mean and largest over the channels, as they come.
class Meeting {
  public:
    void take(const Frames& x) {
        if (sum_.empty()) {
            sum_ = largest_ = x;
        } else {
            for (std::size_t i = 0; i < x.size(); ++i) {
                sum_[i] += x[i];
                largest_[i] = std::max(largest_[i], x[i]);
            }
        }
        ++count_;
    }

    [[nodiscard]] std::vector<float> rows() const {
        std::vector<float> rows(2 * sum_.size());
        for (std::size_t t = 0; t < sum_.size() / width; ++t)
            for (std::size_t i = 0; i < width; ++i) {
                rows[2 * t * width + i] = sum_[t * width + i] / static_cast<float>(count_);
                rows[(2 * t + 1) * width + i] = largest_[t * width + i];
            }
        return rows;
    }

  private:
    Frames sum_, largest_;
    std::size_t count_ = 0;
};

} // namespace

VoiceOdds voice_odds(std::span<const std::vector<float>> bands,
                     std::span<const ChannelKind> kinds) {
    VoiceOdds odds;
    Meeting meeting;
    Layers layers;
    for (std::size_t c = 0; c < bands.size(); ++c) {
        layers = Layers();
        const float* enter = layers.take(dense(inputs, width));
        const Frames x = through_blocks(
            convolve(with_kind(bands[c], kinds[c]), inputs, 1, 1, enter, false), layers);
        odds.own.push_back(judged(x, layers.take(dense(width, classes))));
        meeting.take(x);
    }
    const float* meet = layers.take(dense(2 * width, width));
    const Frames x = through_blocks(convolve(meeting.rows(), 2 * width, 1, 1, meet, false), layers);
    odds.all = judged(x, layers.take(dense(width, classes)));
    return odds;
}

} // namespace lull
