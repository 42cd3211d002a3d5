// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/pieces.hpp"

#include "detect/arrivals.hpp"
#include "detect/internal/sustained.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr double whole_s = 4.0;    ///< a shorter stretch is not cut
constexpr double least_s = 1.5;    ///< a piece is no shorter, but the last
constexpr double raster_s = 2.5;   ///< of the time line
constexpr double search_s = 1.0;   ///< at the raster's beginning, where the cut may fall
constexpr std::size_t smooth = 6;  ///< frames
constexpr double one_pitch = 0.5;  ///< semitones
constexpr double sure_voice = 0.5; ///< what counts as heard

/// Power of the frame and its followers, all bands.
double power_from(const SpectrumTrack& spectrum, std::size_t begin) {
    double sum = 0.0;
    for (std::size_t i = begin; i < std::min(begin + smooth, spectrum.frames()); ++i)
        for (const float power : spectrum.frame(i))
            sum += power;
    return sum;
}

bool alike(const Arrival& a, const Arrival& b) {
    if (a.kind != b.kind) return false;
    // A voice begins with the piece that it is heard in, not with what came before it.
    if (a.kind == EventKind::voice_like)
        return (a.confidence >= sure_voice) == (b.confidence >= sure_voice);
    if (a.kind != EventKind::horn) return true;
    const double ratio = a.shape.fundamental_hz / std::max(1.0, b.shape.fundamental_hz);
    return 12.0 * std::abs(std::log2(std::max(ratio, 1e-3))) < one_pitch;
}

void take_in(Arrival& whole, Arrival&& next) {
    const double onset_s = whole.onset_s;
    const double energy = whole.energy + next.energy;
    const double peak = std::max(whole.peak, next.peak);
    const double peak_energy = std::max(whole.peak_energy, next.peak_energy);
    const double end_s = next.end_s;
    const double sigma_s = whole.onset_sigma_s;
    const bool cut = next.shape.cut;
    if (next.confidence > whole.confidence) whole = std::move(next);
    whole.onset_s = onset_s;
    whole.onset_sigma_s = sigma_s;
    whole.end_s = end_s;
    whole.energy = energy;
    whole.peak = peak;
    whole.peak_energy = peak_energy;
    whole.shape.cut = cut;
    explain_sustained(whole);
}

} // namespace

std::vector<LastingStretch> cut_at_lulls(const ChannelTracks& tracks, const LastingStretch& stretch,
                                         double rate_hz) {
    const SpectrumTrack& spectrum = tracks.spectrum;
    const double frame_s = static_cast<double>(spectrum.hop) / rate_hz;
    if (static_cast<double>(stretch.end - stretch.begin) * frame_s <= whole_s) return {stretch};
    const double first_s = static_cast<double>(spectrum.first) / rate_hz;
    const auto frame_at = [&](double seconds) {
        return static_cast<std::size_t>(std::max(0.0, (seconds - first_s) / frame_s));
    };
    const auto shortest = static_cast<std::size_t>(least_s / frame_s);
    const double begin_s = first_s + static_cast<double>(stretch.begin) * frame_s;
    std::vector<LastingStretch> pieces;
    LastingStretch piece = stretch;
    for (double cell_s = raster_s * std::ceil(begin_s / raster_s);; cell_s += raster_s) {
        const std::size_t from = std::max(frame_at(cell_s), piece.begin + shortest);
        const std::size_t to = frame_at(cell_s + search_s);
        if (to + smooth >= stretch.end) break;
        if (to <= from) continue;
        std::size_t quietest = from;
        double least = power_from(spectrum, from);
        for (std::size_t i = from + 1; i < to; ++i) {
            const double power = power_from(spectrum, i);
            if (power >= least) continue;
            least = power;
            quietest = i;
        }
        piece.end = quietest;
        piece.cut = false;
        pieces.push_back(piece);
        piece.begin = quietest;
    }
    piece.end = stretch.end;
    piece.cut = stretch.cut;
    pieces.push_back(piece);
    return pieces;
}

void join_pieces(std::vector<Arrival>& sustained, const std::vector<char>& continues) {
    std::vector<Arrival> joined;
    bool dropped = false; // the piece before went on from what was followed long enough
    for (std::size_t i = 0; i < sustained.size(); ++i) {
        const bool goes_on = continues[i] && !joined.empty() && alike(joined.back(), sustained[i]);
        const bool short_enough =
            goes_on && sustained[i].end_s <= joined.back().onset_s + longest_sound_s;
        if (short_enough && !dropped) {
            take_in(joined.back(), std::move(sustained[i]));
            continue;
        }
        dropped = goes_on && joined.back().kind == EventKind::other;
        if (goes_on && !joined.back().shape.cut) {
            joined.back().shape.cut = true;
            explain_sustained(joined.back());
        }
        if (!dropped) joined.push_back(std::move(sustained[i]));
    }
    sustained = std::move(joined);
}

} // namespace lull
