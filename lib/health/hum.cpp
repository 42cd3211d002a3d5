// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/hum.hpp"

#include "signal/fft.hpp"
#include "signal/window.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

namespace lull {
namespace {

constexpr double stream_rate_hz = 1000.0; // the channel is decimated to about this
constexpr double spectrum_s = 2.0;
constexpr int block_spectra = 16;   // averaged; a generator drifts little within them
constexpr double most_off_hz = 3.0; // of the fundamental from the nominal mains frequency
constexpr double search_hz = 1.6; // search range on either side of a harmonic of the nominal mains,
constexpr double near_hz = 0.3,
                 nearer_hz = 0.25; // and of a harmonic of a fundamental that was found, at least
constexpr int line_bins = 2;       // on either side of the peak; these belong to the line
constexpr int beside_from = 6, beside_to = 12; // on either side; the noise is taken from these
constexpr double least_over_noise = 4.0;       // 6 dB
constexpr double least_steadiness = 0.5;

} // namespace

/// Decimates with a triangular filter: each segment of `ratio_` samples adds to the falling side of
/// one output sample and to the rising side of the next.
struct HumMeter::State {
    explicit State(double rate_hz)
        : ratio(std::max<std::size_t>(1, static_cast<std::size_t>(rate_hz / stream_rate_hz))),
          sample_rate_hz(rate_hz), rate_hz_low(rate_hz / static_cast<double>(ratio)),
          fft(fast_size(static_cast<std::size_t>(spectrum_s * rate_hz_low))),
          window(periodic_window(WindowKind::hann, fft.size())), windowed(fft.size()),
          spectrum(fft.bins()), before(fft.bins()), power(fft.bins(), 0.0), turn(fft.bins()) {
        segment.reserve(ratio);
        low.reserve(fft.size());
    }

    void take_segment(std::span<const float> x) {
        const double scale = 1.0 / static_cast<double>(ratio * ratio);
        std::array<float, 4> sum{}, ramp{};
        std::size_t k = 0;
        float index[4] = {0.0F, 1.0F, 2.0F, 3.0F};
        for (; k + 4 <= x.size(); k += 4)
            for (std::size_t j = 0; j < 4; ++j) {
                sum[j] += x[k + j];
                ramp[j] += index[j] * x[k + j];
                index[j] += 4.0F;
            }
        for (; k < x.size(); ++k) {
            sum[0] += x[k];
            ramp[0] += static_cast<float>(k) * x[k];
        }
        const double all = static_cast<double>((sum[0] + sum[1]) + (sum[2] + sum[3]));
        const double rising = static_cast<double>((ramp[0] + ramp[1]) + (ramp[2] + ramp[3]));
        const double falling = static_cast<double>(ratio) * all - rising;
        low.push_back(static_cast<float>(scale * (rising_before + falling)));
        rising_before = rising;
        if (low.size() == fft.size()) take_spectrum();
    }

    void take_spectrum() {
        for (std::size_t i = 0; i < low.size(); ++i)
            windowed[i] = low[i] * window[i];
        fft.forward(windowed, spectrum);
        for (std::size_t b = 0; b < spectrum.size(); ++b) {
            power[b] += static_cast<double>(std::norm(spectrum[b]));
            if (spectra > 0) turn[b] += std::complex<double>(spectrum[b] * std::conj(before[b]));
        }
        std::swap(spectrum, before);
        ++spectra;
        if (++in_block == block_spectra) end_block();
        low.erase(low.begin(), low.begin() + static_cast<std::ptrdiff_t>(low.size() / 2));
    }

    [[nodiscard]] double bin_hz() const { return rate_hz_low / static_cast<double>(fft.size()); }

    /// Power response of the triangular filter.
    [[nodiscard]] double response(double hz) const {
        const double x = std::numbers::pi * hz / sample_rate_hz, n = static_cast<double>(ratio);
        const double boxcar = std::sin(n * x) / (n * std::sin(x));
        return std::pow(boxcar, 4.0);
    }

    /// The strongest bin within `reach_hz`; empty beyond the band.
    [[nodiscard]] std::optional<int> peak_near(double hz, double reach_hz) const {
        const int from = static_cast<int>(std::ceil((hz - reach_hz) / bin_hz()));
        const int to = static_cast<int>(std::floor((hz + reach_hz) / bin_hz()));
        if (to + beside_to >= static_cast<int>(power.size()) || from < beside_to) return {};
        const auto first = power.begin() + from;
        return static_cast<int>(std::max_element(first, power.begin() + to + 1) - power.begin());
    }

    /// A fundamental near the nominal mains frequency that stands out itself or by its octave.
    [[nodiscard]] std::optional<double> fundamental_near(double nominal_hz) const {
        for (int h = 1; h <= 2; ++h) {
            const auto peak = peak_near(nominal_hz * h, most_off_hz * h);
            if (!peak) continue;
            const HumLine line = line_of(*peak);
            if (line.power > least_over_noise * line.noise && line.steadiness > least_steadiness)
                return line.frequency_hz / h;
        }
        return {};
    }

    /// Adds a block of spectra to the sums of the blocks before it. Lines are weighted by their
    /// power.
    void end_block() {
        for (std::size_t m = 0; m < lines.size() && in_block > 0; ++m) {
            const auto found = fundamental_near(mains_frequencies_hz[m]);
            for (int h = 1; h <= hum_harmonics; ++h) {
                const auto peak = peak_near(found.value_or(mains_frequencies_hz[m]) * h,
                                            found ? near_hz + nearer_hz * h : search_hz);
                if (!peak) continue;
                const HumLine line = line_of(*peak);
                HumLine& sum = lines[m][static_cast<std::size_t>(h - 1)];
                sum.power += in_block * line.power;
                sum.noise += in_block * line.noise;
                sum.frequency_hz += in_block * line.power * line.frequency_hz;
                sum.steadiness += in_block * line.power * line.steadiness;
            }
        }
        std::ranges::fill(power, 0.0);
        std::ranges::fill(turn, 0.0);
        in_block = 0;
    }

    [[nodiscard]] HumLine line_of(int peak) const {
        const auto at = [this](int bin) { return power[static_cast<std::size_t>(bin)]; };
        double sum = 0.0;
        std::complex<double> turned{0.0, 0.0};
        for (int b = peak - line_bins; b <= peak + line_bins; ++b) {
            sum += at(b);
            turned += turn[static_cast<std::size_t>(b)];
        }
        std::vector<double> beside;
        for (int d = beside_from; d <= beside_to; ++d) {
            beside.push_back(at(peak - d));
            beside.push_back(at(peak + d));
        }
        std::nth_element(beside.begin(), beside.begin() + 6, beside.end());
        const double noise = beside[6] * (2 * line_bins + 1);
        return finish_line(peak, sum, noise, turned);
    }

    [[nodiscard]] HumLine finish_line(int peak, double sum, double noise,
                                      std::complex<double> turned) const {
        double window_power = 0.0;
        for (float w : window)
            window_power += static_cast<double>(w) * static_cast<double>(w);
        const double hop_s = 0.5 * static_cast<double>(fft.size()) / rate_hz_low;
        const double turns = std::arg(turned) / (2.0 * std::numbers::pi);
        const double expected = peak * bin_hz() * hop_s;
        HumLine line;
        line.frequency_hz = (std::round(expected - turns) + turns) / hop_s;
        line.steadiness = sum > 0.0 ? std::abs(turned) / sum : 0.0;
        const double scale = 2.0 / (static_cast<double>(fft.size()) * window_power * in_block *
                                    response(line.frequency_hz));
        line.power = scale * std::max(0.0, sum - noise);
        line.noise = scale * noise;
        return line;
    }

    std::size_t ratio;
    double sample_rate_hz, rate_hz_low;
    RealFft fft;
    std::vector<float> window, windowed, segment, low;
    std::vector<std::complex<float>> spectrum, before;
    std::vector<double> power;
    std::vector<std::complex<double>> turn;
    double rising_before = 0.0;
    int spectra = 0, in_block = 0;
    std::array<std::array<HumLine, hum_harmonics>, 2> lines; ///< sums over finished blocks
};

HumMeter::HumMeter(double rate_hz) : state_(std::make_unique<State>(rate_hz)) {}
HumMeter::~HumMeter() = default;
HumMeter::HumMeter(HumMeter&&) noexcept = default;

void HumMeter::push(std::span<const float> samples) {
    State& s = *state_;
    std::size_t i = 0;
    if (!s.segment.empty()) {
        i = std::min(samples.size(), s.ratio - s.segment.size());
        s.segment.insert(s.segment.end(), samples.begin(),
                         samples.begin() + static_cast<std::ptrdiff_t>(i));
        if (s.segment.size() < s.ratio) return;
        s.take_segment(s.segment);
        s.segment.clear();
    }
    for (; i + s.ratio <= samples.size(); i += s.ratio)
        s.take_segment(samples.subspan(i, s.ratio));
    s.segment.assign(samples.begin() + static_cast<std::ptrdiff_t>(i), samples.end());
}

std::optional<HumUnit> HumMeter::finish(Frame first, Frame count) const {
    if (state_->spectra < 3) return std::nullopt;
    State s = *state_;
    s.end_block();
    HumUnit unit{first, count, s.spectra, s.lines};
    for (auto& lines : unit.lines)
        for (HumLine& line : lines) {
            const double power = std::max(line.power, 1e-300);
            line = {line.power / s.spectra, line.noise / s.spectra, line.frequency_hz / power,
                    line.steadiness / power};
        }
    return unit;
}

namespace {

constexpr int first_harmonics = 2;

bool stands_out(const HumLine& line) {
    return line.power > least_over_noise * line.noise && line.steadiness > least_steadiness;
}

/// The fundamental's frequency, from the unit's strongest line; empty without a line.
std::optional<double> frequency_of(const HumUnit& unit, std::size_t mains) {
    const HumLine* best = nullptr;
    int harmonic = 1;
    for (int h = 1; h <= hum_harmonics; ++h) {
        const HumLine& line = unit.lines[mains][static_cast<std::size_t>(h - 1)];
        if (!stands_out(line) || (best && line.power / line.noise < best->power / best->noise))
            continue;
        best = &line;
        harmonic = h;
    }
    if (!best) return std::nullopt;
    const double frequency_hz = best->frequency_hz / harmonic;
    // Mains always shows at its frequency or twice that; a horn or a machine may show only a higher
    // harmonic.
    for (int h = 1; h <= first_harmonics; ++h) {
        const HumLine& line = unit.lines[mains][static_cast<std::size_t>(h - 1)];
        if (stands_out(line) && std::fabs(line.frequency_hz - h * frequency_hz) <= 0.1 * h)
            return frequency_hz;
    }
    return std::nullopt;
}

Hum gather(std::span<const HumUnit> units, std::size_t mains) {
    Hum hum;
    double spectra = 0.0, weight = 0.0;
    std::array<double, hum_harmonics> noise{};
    for (const HumUnit& unit : units) {
        spectra += unit.spectra;
        const std::optional<double> frequency = frequency_of(unit, mains);
        if (!frequency) continue;
        hum.lowest_hz = weight > 0.0 ? std::min(hum.lowest_hz, *frequency) : *frequency;
        hum.highest_hz = weight > 0.0 ? std::max(hum.highest_hz, *frequency) : *frequency;
        hum.frequency_hz += *frequency * unit.spectra;
        weight += unit.spectra;
        for (std::size_t h = 0; h < hum_harmonics; ++h) {
            const HumLine& line = unit.lines[mains][h];
            // A line is a harmonic only at its multiple of the fundamental.
            const double off_hz = line.frequency_hz - *frequency * static_cast<double>(h + 1);
            if (!stands_out(line) || std::fabs(off_hz) > 0.1 * static_cast<double>(h + 1)) continue;
            hum.harmonic_power[h] += line.power * unit.spectra;
            noise[h] += line.noise * unit.spectra;
        }
    }
    if (weight <= 0.0) return hum;
    hum.frequency_hz /= weight;
    double over = 0.0;
    for (std::size_t h = 0; h < hum_harmonics; ++h) {
        if (noise[h] > 0.0) over = std::max(over, hum.harmonic_power[h] / noise[h]);
        hum.harmonic_power[h] /= spectra;
        hum.power += hum.harmonic_power[h];
    }
    hum.above_noise_db = power_db(over).value_or(0.0);
    return hum;
}

} // namespace

std::optional<Hum> hum_of(std::span<const HumUnit> units) {
    const std::vector<Hum> hums = hums_of(units);
    return hums.empty() ? std::nullopt : std::optional(hums.front());
}

std::vector<Hum> hums_of(std::span<const HumUnit> units) {
    std::vector<Hum> hums;
    for (std::size_t mains = 0; mains < mains_frequencies_hz.size(); ++mains)
        if (const Hum hum = gather(units, mains); hum.power > 0.0) hums.push_back(hum);
    std::ranges::stable_sort(hums, std::ranges::greater{}, &Hum::power);
    return hums;
}

bool is_mains(const Hum& hum, std::optional<double> mains_hz) {
    const auto near = [&hum](double nominal_hz) {
        return std::fabs(hum.frequency_hz - nominal_hz) <= mains_tolerance * nominal_hz;
    };
    return mains_hz ? near(*mains_hz) : std::ranges::any_of(mains_frequencies_hz, near);
}

} // namespace lull
