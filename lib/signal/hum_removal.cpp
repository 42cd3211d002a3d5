// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/hum_removal.hpp"

#include "signal/internal/mains_phase.hpp"
#include "signal/median.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

namespace lull {
namespace {

using Complex = std::complex<double>;

constexpr double hop_s = 1.0;
constexpr double block_hop_s = 0.1;    // blocks are twice as long
constexpr double highest_share = 0.45; // of the rate
constexpr std::size_t least_blocks = 5;
constexpr double standing_out = 4.0; // standard errors of a harmonic's amplitude
// smallest amplitude of a low harmonic that identifies a generator
constexpr double least_of_strongest = 0.1;
constexpr double near_nominal_hz = 1.0; // further off, a single higher harmonic is not mains

/// Median amplitude of a harmonic over the blocks; 0 when it does not stand out.
Complex steady_amplitude(const std::vector<Complex>& z) {
    std::vector<double> real, imaginary, off;
    for (const Complex& one : z) {
        real.push_back(one.real());
        imaginary.push_back(one.imag());
    }
    const Complex amplitude{median(real), median(imaginary)};
    for (const Complex& one : z)
        off.push_back(std::abs(one - amplitude));
    // A median of |noise| is 1.18 standard deviations of one component. A median's own error is
    // 1.25 times a mean's. Neighbouring blocks overlap by half.
    const double error = 1.25 / 1.18 * median(off) * std::sqrt(1.5 / static_cast<double>(z.size()));
    return std::abs(amplitude) > standing_out * error ? amplitude : Complex{};
}

/// Whether lines far from the nominal frequency belong to a generator: it has a line at its own
/// frequency, or at twice that and one of the next. Another machine may have a tone near three
/// times it.
bool is_generator(std::span<const Complex> lines) {
    double most = 0.0;
    for (const Complex& line : lines)
        most = std::max(most, std::abs(line));
    const auto shows = [&](std::size_t harmonic) {
        return harmonic <= lines.size() && most > 0.0 &&
               std::abs(lines[harmonic - 1]) >= least_of_strongest * most;
    };
    return shows(1) || (shows(2) && (shows(3) || shows(4)));
}

/// The harmonics that stand out, [harmonic - 1], with 0 for the others; empty without mains.
std::vector<Complex> lines_of(std::span<const float> samples, std::span<const float> phase,
                              double rate_hz, const PhasePath& path,
                              std::optional<double> mains_hz) {
    const double hz = path.mean_frequency_hz();
    const int harmonics = std::min(HarmonicBlocks::most_harmonics,
                                   static_cast<int>(std::floor(highest_share * rate_hz / hz)));
    const auto hop = static_cast<std::size_t>(std::llround(block_hop_s * rate_hz));
    std::vector<Complex> lines;
    for (const auto& blocks : HarmonicBlocks(hop).measure(samples, phase, harmonics))
        lines.push_back(steady_amplitude(blocks));
    double off_hz = std::fabs(hz - mains_hz.value_or(50.0));
    if (!mains_hz) off_hz = std::min(off_hz, std::fabs(hz - 60.0));
    if (off_hz > near_nominal_hz && !is_generator(lines)) return {};
    return lines;
}

/// Adds a segment's hum, faded in and out, to `hum`.
/// \param middle  of the segment, as an index in samples; may lie outside
void add_segment(std::span<const float> samples, double middle, double rate_hz,
                 std::optional<double> mains_hz, std::span<float> hum) {
    const auto least = static_cast<std::size_t>(
        std::ceil(block_hop_s * rate_hz * static_cast<double>(least_blocks + 2)));
    if (samples.size() < least) return;
    const double both[] = {50.0, 60.0};
    const auto mains = find_mains(samples, rate_hz,
                                  mains_hz ? std::span<const double>(&*mains_hz, 1)
                                           : std::span<const double>(both));
    if (!mains) return;
    const std::vector<float> phase = mains->path.fractions(samples.size(), 1.0 / rate_hz);
    const std::vector<Complex> lines = lines_of(samples, phase, rate_hz, mains->path, mains_hz);
    if (lines.empty()) return;
    const PeriodTable period(lines);
    // cos^2 over half a turn, so that two segments add up to 1. Computed by a rotating phasor.
    const double angle = std::numbers::pi / (hop_s * rate_hz);
    Complex turn = std::polar(0.5, -angle * middle);
    const Complex step = std::polar(1.0, angle);
    for (std::size_t i = 0; i < samples.size(); ++i) {
        hum[i] += static_cast<float>(0.5 + turn.real()) * period.at(phase[i]);
        turn = {turn.real() * step.real() - turn.imag() * step.imag(),
                turn.real() * step.imag() + turn.imag() * step.real()};
    }
}

} // namespace

Frame hum_hop(double rate_hz) {
    return std::max<Frame>(1, std::llround(hop_s * rate_hz));
}

std::vector<float> hum_in(std::span<const float> samples, Frame first, Frame from, Frame count,
                          double rate_hz, std::optional<double> mains_hz) {
    const Frame hop = hum_hop(rate_hz), end = first + static_cast<Frame>(samples.size());
    std::vector<float> sum(samples.size(), 0.0F);
    for (Frame begin = first / hop * hop - hop; begin < end; begin += hop) {
        const Frame low = std::max(begin, first), high = std::min(begin + 2 * hop, end);
        if (low >= high || begin + 2 * hop <= from || begin >= from + count) continue;
        const auto at = static_cast<std::size_t>(low - first),
                   size = static_cast<std::size_t>(high - low);
        add_segment(samples.subspan(at, size), static_cast<double>(begin + hop - low), rate_hz,
                    mains_hz, std::span(sum).subspan(at, size));
    }
    std::vector<float> hum(static_cast<std::size_t>(std::max<Frame>(0, count)), 0.0F);
    for (Frame i = 0; i < count && from + i < end; ++i)
        hum[static_cast<std::size_t>(i)] = sum[static_cast<std::size_t>(from + i - first)];
    return hum;
}

} // namespace lull
