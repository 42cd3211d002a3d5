// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/spectrum_probe.hpp"

#include "signal/window.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr double every_s = 2.0;
constexpr std::size_t bands = SpectrumLooks::bands, bins_a_band = 4, size = 2 * bands * bins_a_band;
constexpr std::size_t side = 4;      // bands on either side that a hole is compared with
constexpr float hole_depth = 100.0F; // 20 dB
constexpr float least_power = 1e-12F;
// A codec short of bits omits bands for a time. Such a band falls far under its usual level, and
// under the bands below it, which keep theirs.
constexpr double fallen_db = 20.0, under_others_db = 15.0, unchanged_db = 10.0;
constexpr std::size_t others = 8;   // bands below it
constexpr std::int64_t learned = 5; // spectra until the usual level is known
constexpr double most_change_db = 10.0,
                 memory = 10.0; // of the usual level: in one spectrum; time constant in spectra

using Powers = std::array<float, bands>;
using Levels = std::array<double, bands>;

/// The second lowest band of one side.
float lower_of(const float* bands_beside) {
    std::array<float, side> sorted;
    std::copy_n(bands_beside, side, sorted.begin());
    std::nth_element(sorted.begin(), sorted.begin() + 1, sorted.end());
    return sorted[1];
}

/// A hole lies far under all but one of the bands on both sides. Neither a slope nor the space
/// between the lines of a tone does so.
bool is_hole(const Powers& power, std::size_t at) {
    const float depth = power[at] * hole_depth;
    return depth < lower_of(&power[at - side]) && depth < lower_of(&power[at + 1]);
}

/// Whether band `at` is empty at present, by its level and by its difference from the usual level.
bool has_fallen(const Levels& db, const Levels& usual_db, std::size_t at) {
    if (db[at] > usual_db[at] - fallen_db) return false;
    std::size_t unchanged = 0, over = 0;
    for (std::size_t b = at - others; b < at; ++b) {
        unchanged += db[b] > usual_db[b] - unchanged_db ? 1 : 0;
        over += db[b] > db[at] + under_others_db ? 1 : 0;
    }
    return 2 * unchanged > others && over + 1 >= others;
}

} // namespace

SpectrumProbe::SpectrumProbe(double rate_hz)
    : fft_(size), every_(std::max<Frame>(size, std::llround(every_s * rate_hz))),
      window_(periodic_window(WindowKind::hann, size)), windowed_(size), spectrum_(fft_.bins()) {}

void SpectrumProbe::look(std::span<const float> piece, Frame first) {
    if (first != held_end_) held_.clear();
    held_end_ = first + static_cast<Frame>(piece.size());
    // A window begins at each multiple of every_.
    for (std::size_t at = 0; at < piece.size();) {
        const Frame into = (first + static_cast<Frame>(at)) % every_;
        const bool begins = into == 0, goes_on = !held_.empty();
        if (!begins && !goes_on) {
            at += static_cast<std::size_t>(every_ - into);
            continue;
        }
        const std::size_t count = std::min(piece.size() - at, size - held_.size());
        held_.insert(held_.end(), piece.begin() + static_cast<std::ptrdiff_t>(at),
                     piece.begin() + static_cast<std::ptrdiff_t>(at + count));
        at += count;
        if (held_.size() == size) take();
    }
}

void SpectrumProbe::take() {
    for (std::size_t i = 0; i < size; ++i)
        windowed_[i] = held_[i] * window_[i];
    held_.clear();
    fft_.forward(windowed_, spectrum_);
    Powers power{};
    float all = 0.0F;
    for (std::size_t b = 0; b < bands; ++b) {
        for (std::size_t k = b * bins_a_band; k < (b + 1) * bins_a_band; ++k)
            power[b] += std::norm(spectrum_[k]);
        all += power[b];
    }
    if (!(all > least_power)) return; // digital silence
    ++looks_.looks;
    looks_.level_db.resize(bands, 0.0);
    Levels db{};
    for (std::size_t b = 0; b < bands; ++b) {
        db[b] = 10.0 * std::log10(static_cast<double>(power[b] + 1e-15F));
        looks_.level_db[b] += db[b];
    }
    std::int64_t holes = 0;
    for (std::size_t b = 2 * side; b + side < bands; ++b) {
        ++looks_.looked;
        const bool fallen = looks_.looks > learned && has_fallen(db, usual_db_, b);
        holes += fallen || is_hole(power, b) ? 1 : 0;
    }
    learn(db);
    looks_.holes += holes;
    looks_.with_holes += holes > 0 ? 1 : 0;
}

/// Follows the usual level slowly, so that neither a loud sound nor an empty band determines it.
void SpectrumProbe::learn(const Levels& db) {
    const double looks = std::min(static_cast<double>(looks_.looks), memory);
    for (std::size_t b = 0; b < bands; ++b) {
        if (looks_.looks == 1) usual_db_[b] = db[b];
        usual_db_[b] += std::clamp(db[b] - usual_db_[b], -most_change_db, most_change_db) / looks;
    }
}

} // namespace lull
