// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/candidates.hpp"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace lull {

namespace {

// Frames are 8 ms apart. Thresholds are log likelihoods summed over the bands; over an hour of
// steady noise a sum of half chi-squares passes 11 some hundreds of times: cheap enough to look at.
constexpr float instant_from = 11.0F;
constexpr std::size_t before_from = 14, before_to = 3; ///< frames back: 112 to 24 ms before
constexpr std::size_t instant_apart = 8;               ///< frames: 64 ms
constexpr std::size_t smooth = 16;                     ///< frames in the sustained test: 128 ms
constexpr float sustained_from = 24.0F, sustained_to = 7.0F;
constexpr float floor_doubt = 1.26F;    ///< 1 dB: a floor is not known better than that
constexpr std::size_t longest_gap = 45; ///< frames: 0.36 s, longer than a stop between syllables
constexpr std::size_t shortest_stretch = 12; ///< frames: 0.1 s
constexpr float faintest_power = 1e-14F;     ///< below a 24-bit step: stands in for a floor of zero
constexpr float largest_ratio = 1e5F;

/// Adds to each score how little noise explains a ratio of powers, as excess_likelihood does.
/// \param ratios  are limited in place
void add_excess(std::vector<float>& ratios, float degrees, std::vector<float>& scores) {
    const auto size = static_cast<Eigen::Index>(ratios.size());
    Eigen::Map<Eigen::ArrayXf> ratio(ratios.data(), size);
    Eigen::Map<Eigen::ArrayXf> score(scores.data(), size);
    ratio = ratio.max(1.0F).min(largest_ratio);
    score += 0.5F * degrees * (ratio - 1.0F - ratio.log());
}

/// Ratio of each band's power to a reference, gathered into the two scores frame by frame.
class Scores {
  public:
    Scores(const ChannelTracks& tracks, double rate_hz)
        : tracks_(tracks), bands_(tracks.spectrum.bands()), frames_(tracks.spectrum.frames()),
          power_(frames_), reference_(frames_), ratio_(frames_) {
        impulse.assign(frames_, 0.0F);
        sustained.assign(frames_, 0.0F);
        const std::vector<double> degrees = degrees_of_freedom(tracks.spectrum, rate_hz);
        for (std::size_t band = 0; band < bands_; ++band)
            add_band(band, static_cast<float>(degrees[band]));
    }

    std::vector<float> impulse;   ///< against the floor and the moment before
    std::vector<float> sustained; ///< mean of 128 ms centred on the frame, against the floor

  private:
    void add_band(std::size_t band, float degrees) {
        const SpectrumTrack& spectrum = tracks_.spectrum;
        const FloorTrack& floor = tracks_.band_floor[band];
        float noise = 0.0F;
        Frame step_end = std::numeric_limits<Frame>::min(); // of the floor's step that noise is of
        for (std::size_t i = 0; i < frames_; ++i) {
            power_[i] = spectrum.power[i * bands_ + band];
            const Frame at = spectrum.first + static_cast<Frame>(i) * spectrum.hop;
            if (!floor.power.empty() && at >= step_end) {
                const std::size_t step = floor.step_of(at);
                noise = floor.power[step];
                step_end = floor.first + static_cast<Frame>(step + 1) * floor.hop;
            }
            reference_[i] = std::max(noise, faintest_power);
        }
        add_impulse(degrees);
        add_sustained(degrees);
    }

    void add_impulse(float degrees) {
        constexpr std::size_t span = before_from - before_to + 1;
        double sum = 0.0;
        for (std::size_t i = 0; i < frames_; ++i) {
            if (i >= before_to) sum += power_[i - before_to];
            if (i > before_from) sum -= power_[i - before_from - 1];
            const std::size_t count = i < before_to ? 0 : std::min(span, i - before_to + 1);
            const float before =
                count ? static_cast<float>(std::max(sum, 0.0) / static_cast<double>(count)) : 0.0F;
            ratio_[i] = power_[i] / std::max(reference_[i], before);
        }
        add_excess(ratio_, degrees, impulse);
    }

    void add_sustained(float degrees) {
        // Frames overlap by half, so 16 of them hold about 8 times the freedom of one.
        const float all_degrees = degrees * static_cast<float>(smooth) * 0.5F;
        std::ranges::fill(ratio_, 0.0F);
        double sum = 0.0;
        for (std::size_t i = 0; i < frames_; ++i) {
            sum += power_[i];
            if (i >= smooth) sum -= power_[i - smooth];
            if (i + 1 < smooth) continue;
            const std::size_t centre = i - smooth / 2;
            const auto mean = static_cast<float>(std::max(sum, 0.0) / static_cast<double>(smooth));
            ratio_[centre] = mean / (reference_[centre] * floor_doubt);
        }
        add_excess(ratio_, all_degrees, sustained);
    }

    const ChannelTracks& tracks_;
    std::size_t bands_, frames_;
    std::vector<float> power_, reference_, ratio_; ///< of one band
};

std::vector<Instant> pick_instants(const std::vector<float>& score) {
    std::vector<Instant> instants;
    for (std::size_t i = 0; i < score.size(); ++i) {
        if (score[i] < instant_from) continue;
        // The loudest frame of the next 40 ms stands for the impulse.
        const std::size_t end = std::min(score.size(), i + 5);
        std::size_t best = i;
        for (std::size_t k = i; k < end; ++k)
            if (score[k] > score[best]) best = k;
        instants.push_back({best, i, score[best]});
        i = std::max(best, i) + instant_apart - 1;
    }
    return instants;
}

std::vector<LastingStretch> pick_stretches(const std::vector<float>& score) {
    std::vector<LastingStretch> found;
    for (std::size_t i = 0; i < score.size(); ++i) {
        if (score[i] < sustained_from) continue;
        LastingStretch stretch{i, i, 0.0F, false};
        while (stretch.begin > 0 && score[stretch.begin - 1] >= sustained_to)
            --stretch.begin;
        std::size_t quiet = 0;
        std::size_t k = i;
        for (; k < score.size() && quiet <= longest_gap; ++k) {
            quiet = score[k] >= sustained_to ? 0 : quiet + 1;
            stretch.score = std::max(stretch.score, score[k]);
        }
        stretch.cut = k == score.size() && quiet < smooth;
        stretch.end = k - quiet;
        if (!found.empty() && stretch.begin <= found.back().end + longest_gap) {
            stretch.begin = found.back().begin;
            stretch.score = std::max(stretch.score, found.back().score);
            found.pop_back();
        }
        if (stretch.end - stretch.begin >= shortest_stretch) found.push_back(stretch);
        i = std::max(i, k);
    }
    return found;
}

} // namespace

std::vector<double> degrees_of_freedom(const SpectrumTrack& spectrum, double rate_hz) {
    // Hann window over two hops: (sum w^2)^2 / sum w^4 = 0.514 of its length.
    const double effective_s = 0.514 * 2.0 * static_cast<double>(spectrum.hop) / rate_hz;
    std::vector<double> degrees(spectrum.bands());
    for (std::size_t b = 0; b < degrees.size(); ++b)
        degrees[b] =
            std::max(2.0, 2.0 * (spectrum.edges_hz[b + 1] - spectrum.edges_hz[b]) * effective_s);
    return degrees;
}

float excess_likelihood(float ratio, float degrees) {
    if (!(ratio > 1.0F)) return 0.0F;
    const float r = std::min(ratio, largest_ratio);
    return 0.5F * degrees * (r - 1.0F - std::log(r));
}

CandidateScores candidate_scores(const ChannelTracks& tracks, double rate_hz) {
    Scores scores(tracks, rate_hz);
    return {std::move(scores.impulse), std::move(scores.sustained)};
}

Candidates find_candidates(const ChannelTracks& tracks, double rate_hz) {
    const CandidateScores scores = candidate_scores(tracks, rate_hz);
    return {pick_instants(scores.impulse), pick_stretches(scores.sustained)};
}

} // namespace lull
