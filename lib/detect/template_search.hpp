// SPDX-License-Identifier: GPL-3.0-or-later
//
// Searching a stretch of all channels for what sounds like a template: matched filtering, and a
// second look at what stands out.
#pragma once

#include "detect/tap_template.hpp"
#include "recording/recording.hpp"
#include "signal/sections.hpp"

#include <functional>
#include <span>
#include <vector>

namespace lull {

/// How far the search looks beyond a stretch for the noise of its ends [s].
inline constexpr double search_surroundings_s = 12.0;
inline constexpr double least_match_score = 5.5; ///< Gaussian noise passes it once in some hours

/// Whether what template `of` matches at a time is known already, and need not be looked at.
using KnownMatch = std::function<bool(std::size_t of, double onset_s)>;

/// A place where the template stands out of the noise of the matching, and is alike.
struct Match {
    std::size_t of = 0;   ///< index of the template
    double onset_s = 0.0; ///< of the event
    double score = 0.0;   ///< statistic over its running standard deviation
    double correlation =
        0.0; ///< 0..1: with the template, the noise's share of the energy taken out
    std::vector<double> channel_score; ///< a channel each, over its own standard deviation
};

class TemplateSearch {
  public:
    /// \param templates    of one rate and number of channels; outlive the search
    /// \param band_pass    that `banded` of find() went through
    /// \param full_rate_hz of the streams before they were thinned
    TemplateSearch(std::span<const TapTemplate> templates, const Sections& band_pass,
                   double full_rate_hz);

    /// The matches that begin in the frames [begin, end) of the thinned streams, in order. Overlap-
    /// save: one transform of each channel, and one inverse for each template, since the channels
    /// are summed as spectra [Stockham 1966].
    /// \param raw     thinned streams; delivers what lies outside the recording as 0
    /// \param banded  the same, band-passed before they were thinned
    /// \param known   what is no match
    [[nodiscard]] std::vector<Match> find(Frame begin, Frame end, const StretchOf& raw,
                                          const StretchOf& banded, const KnownMatch& known) const;

    /// The statistic of each template at the frames [begin, end), not yet over its noise: what
    /// find() is made of.
    [[nodiscard]] std::vector<std::vector<float>> statistics(Frame begin, Frame end,
                                                             const StretchOf& raw) const;

  private:
    struct Peak {
        double at = 0.0; ///< frames from the stretch's begin, between samples
        double score = 0.0;
    };
    [[nodiscard]] std::vector<Peak> peaks_of(const std::vector<float>& statistic) const;
    [[nodiscard]] Match look(std::size_t of, double begin, double score,
                             const StretchOf& banded) const;

    std::span<const TapTemplate> templates_;
    double rate_hz_;
    int channels_;
    std::size_t margin_;  ///< samples a filter begins before its window
    std::size_t longest_; ///< of the filters
    std::vector<std::vector<std::complex<float>>> filters_; ///< [template][channel * bins + bin]
    std::vector<std::vector<float>> fades_;
};

} // namespace lull
