// SPDX-License-Identifier: GPL-3.0-or-later
//
// Sounds that last: from a candidate stretch to a measured and judged arrival.
#pragma once

#include "detect/event.hpp"
#include "detect/internal/candidates.hpp"
#include "detect/internal/pitch.hpp"
#include "detect/unit_input.hpp"

#include <array>
#include <span>
#include <vector>

namespace lull {

/// Measures the modulation of envelopes, and keeps what all envelopes of one rate share.
class SyllabicMeter {
  public:
    /// Share, 0..1, of the modulation of an envelope between 1 and 20 Hz that lies at 2 to 8 Hz,
    /// the syllable rates of speech [Houtgast & Steeneken 1985]; 0 when shorter than half a second.
    [[nodiscard]] double share(std::span<const float> envelope, double envelope_rate_hz);

  private:
    static constexpr std::size_t modulations = 39;
    using OfModulations = std::array<double, modulations>;

    void have_turns(double rate_hz, std::size_t frames);

    double rate_hz_ = 0.0;
    std::vector<OfModulations> cosine_, sine_; ///< of each modulation at each frame
};

/// Everything the tracks say of a lasting sound: onset, end, levels, bands, modulation.
[[nodiscard]] Arrival sustained_from_tracks(const ChannelTracks& tracks,
                                            const LastingStretch& stretch, double rate_hz,
                                            SyllabicMeter& syllables);

/// A stretch whose ends are known.
struct KnownStretch {
    double onset_s = 0.0, end_s = 0.0;
    double score = 0.0;
    bool cut = false; ///< goes on
};

/// The same of a stretch whose ends are known otherwise.
[[nodiscard]] Arrival sustained_over(const ChannelTracks& tracks, const KnownStretch& stretch,
                                     double rate_hz, SyllabicMeter& syllables);

/// Takes over what the pitch of its frames says.
void take_pitch(Arrival& arrival, const PitchMeasures& pitch);

/// Words of a lasting sound, from its measures.
void explain_sustained(Arrival& arrival);

/// Kind, confidence and words of a lasting sound that is no voice: a horn or something else.
void judge_sustained(Arrival& arrival);

} // namespace lull
