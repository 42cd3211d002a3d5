// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/floor.hpp"

#include "noise/internal/cells.hpp"
#include "noise/internal/gamma_fit.hpp"
#include "noise/internal/ringing.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

/// Powers below this are digital silence: no recorder's own noise is 200 dB under full scale.
constexpr float silence = 1e-20F;
constexpr double longest_cell_s = 0.3; // with longer cells, too few lie between events
constexpr double least_cells = 10.0;   // quiet cells; fewer are no measurement
// bandwidth; in a wider band the ringing is shorter than a cell
constexpr double rings_under_hz = 16.0;
constexpr std::size_t nearby_steps = 10; // a unit of work reads half of them and a window
constexpr double steady_shape = 2.5;     // half the degrees of freedom of steady noise, at least

/// The cells of a window in order of power. The window moves from step to step.
class SlidingWindow {
  public:
    /// Adds the cells of one step and removes those of another (empty: none). Cells that are
    /// negative or not finite are ignored.
    void move(std::span<const float> arriving, std::span<const float> leaving) {
        silent_ += keep_sound(arriving, arriving_);
        silent_ -= keep_sound(leaving, leaving_);
        merged_.resize(sorted_.size() + arriving_.size());
        RunningPower* end = merged_.data();
        *end = {};
        const RunningPower* last = end++;
        const auto append = [&](float power, float log) {
            *end = {power, log, last->sum + static_cast<double>(power),
                    last->sum_of_log + static_cast<double>(log)};
            last = end++;
        };
        auto in = arriving_.begin(), out = leaving_.begin();
        for (const RunningPower& cell : std::span(sorted_).subspan(1)) {
            if (out != leaving_.end() && *out == cell.power) {
                ++out;
                continue;
            }
            for (; in != arriving_.end() && *in < cell.power; ++in)
                append(*in, std::log(*in));
            append(cell.power, cell.log);
        }
        for (; in != arriving_.end(); ++in)
            append(*in, std::log(*in));
        merged_.resize(static_cast<std::size_t>(end - merged_.data()));
        sorted_.swap(merged_);
    }

    /// Floor and confidence. `full` is the number of cells of a window without missing ones.
    [[nodiscard]] GammaFit fit(double full) const {
        const std::size_t count = sorted_.size() - 1;
        // A channel that is mostly digital silence has no sound. A few silent cells are a dropout.
        if (count == 0 || silent_ > 9 * count) return {};
        GammaFit fit = fit_lowest_mode(sorted_);
        const double quiet = fit.share * static_cast<double>(count);
        fit.share = quiet < least_cells ? 0.0 : std::min(1.0, quiet / full);
        fit.share *= std::min(1.0, fit.shape / steady_shape);
        return fit;
    }

  private:
    /// Sorts the cells with sound; returns how many are digital silence.
    static std::size_t keep_sound(std::span<const float> cells, std::vector<float>& kept) {
        kept.clear();
        std::size_t silent = 0;
        for (const float power : cells) {
            if (!std::isfinite(power) || power < 0.0F) continue;
            if (power > silence)
                kept.push_back(power);
            else
                ++silent;
        }
        std::ranges::sort(kept);
        return silent;
    }

    std::vector<RunningPower> sorted_{{}}, merged_; ///< the first element is zero
    std::vector<float> arriving_, leaving_;
    std::size_t silent_ = 0;
};

/// The fit of each window that begins with a step. Windows beyond the last cell are left out, but
/// there is at least one.
std::vector<GammaFit> fit_windows(const Cells& cells, std::span<const float> power,
                                  std::size_t window) {
    const std::size_t steps = cells.steps();
    std::vector<GammaFit> fits;
    SlidingWindow sliding;
    const auto step_of = [&](std::size_t step) {
        return power.subspan(cells.begin_of(step), cells.cells_a_step());
    };
    const double full = static_cast<double>(window * cells.cells_a_step());
    for (std::size_t step = 0; step < steps; ++step) {
        sliding.move(step_of(step),
                     step < window ? std::span<const float>{} : step_of(step - window));
        if (step + 1 >= window) fits.push_back(sliding.fit(full));
    }
    return fits;
}

/// Combines the window before a step with the window after it.
GammaFit combine(const GammaFit& before, const GammaFit& after) {
    if (before.share <= 0.0 || before.mean <= 0.0) return after;
    if (after.share <= 0.0 || after.mean <= 0.0) return before;
    const double weight = before.share + after.share;
    const double mean = (before.share * before.mean + after.share * after.mean) / weight;
    const GammaFit& higher = before.mean > after.mean ? before : after;
    const GammaFit& lower = before.mean > after.mean ? after : before;
    // Under 1.5 dB apart, both measure one floor. Over 3 dB apart, a lasting change lies between
    // them, if the higher one has more quiet cells than a window with a change in it could have.
    const double apart_db = 10.0 * std::log10(higher.mean / lower.mean);
    const double changed = std::clamp((apart_db - 1.5) / 1.5, 0.0, 1.0);
    const bool alike = higher.shape > 0.4 * lower.shape || higher.share > 3.0 * lower.share;
    const bool steady = higher.share > 0.5 && alike;
    const GammaFit& chosen = steady ? higher : lower;
    GammaFit both;
    both.mean = mean + changed * (chosen.mean - mean);
    both.share = 0.5 * weight + changed * (chosen.share - 0.5 * weight);
    return both;
}

FloorTrack floor_of(const Cells& cells, std::span<const float> power) {
    FloorTrack track;
    track.first = cells.first();
    track.hop = cells.step_frames();
    const std::size_t steps = cells.steps();
    const std::vector<GammaFit> fits =
        fit_windows(cells, power, std::min(cells.steps_a_window(), steps));
    if (fits.empty()) return track;
    const std::size_t reach = steps - fits.size();
    for (std::size_t step = 0; step < steps; ++step) {
        const GammaFit& before = fits[step < reach ? 0 : step - reach];
        const GammaFit both = combine(before, fits[std::min(step, fits.size() - 1)]);
        track.power.push_back(static_cast<float>(both.mean));
        track.confidence.push_back(static_cast<float>(both.share));
    }
    return track;
}

/// A first estimate for each value of a track, from a few seconds round it. Its cells are single
/// values, so that a short pause between two events is seen.
std::vector<float> nearby_floor(const TrackRaster& raster, double rate_hz,
                                std::span<const float> power, std::span<const Run> missing) {
    const Cells cells(raster, rate_hz, static_cast<double>(raster.hop) / rate_hz);
    const std::size_t window = std::min(nearby_steps, cells.steps());
    const std::vector<GammaFit> fits = fit_windows(cells, cells.gather(power, 1, missing), window);
    std::vector<float> floor;
    for (std::size_t i = 0; i < power.size(); ++i) {
        const std::size_t step = cells.step_of(i), before = window / 2;
        const std::size_t begin = std::min(step < before ? 0 : step - before, fits.size() - 1);
        floor.push_back(static_cast<float>(fits[begin].mean));
    }
    return floor;
}

} // namespace

FloorTrack noise_floor(std::span<const float> power, Frame first, Frame hop, double rate_hz,
                       std::span<const Run> missing, double bandwidth_hz) {
    const TrackRaster raster{first, first + hop, hop, power.size()};
    std::vector<char> marked;
    if (bandwidth_hz < rings_under_hz)
        marked = ringing(power, nearby_floor(raster, rate_hz, power, missing),
                         static_cast<double>(hop) / rate_hz, bandwidth_hz);
    if (std::ranges::count(marked, 1) == 0) marked.clear();
    const double cell_s = std::clamp(4.0 / bandwidth_hz, floor_cell_s, longest_cell_s);
    const Cells cells(raster, rate_hz, cell_s);
    return floor_of(cells, cells.gather(power, 1, missing, marked));
}

FloorTrack noise_floor(const LevelTrack& level, double rate_hz, std::span<const Run> missing) {
    return noise_floor(level.power, level.first, level.hop, rate_hz, missing);
}

std::vector<FloorTrack> band_floors(const SpectrumTrack& spectrum, double rate_hz,
                                    std::span<const Run> missing) {
    // The window of a spectrum is two hops long and centred.
    const Frame first = spectrum.first - spectrum.hop;
    const Cells cells({first, first + 2 * spectrum.hop, spectrum.hop, spectrum.frames()}, rate_hz,
                      floor_cell_s);
    const std::size_t bands = spectrum.bands();
    const std::vector<float> power = cells.gather(spectrum.power, bands, missing);
    std::vector<FloorTrack> floors;
    for (std::size_t band = 0; band < bands; ++band)
        floors.push_back(
            floor_of(cells, std::span(power).subspan(band * cells.count(), cells.count())));
    return floors;
}

} // namespace lull
