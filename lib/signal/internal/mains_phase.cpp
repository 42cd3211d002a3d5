// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/internal/mains_phase.hpp"

#include "signal/median.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

using Complex = std::complex<double>;
using Amplitudes = HarmonicBlocks::Amplitudes;

constexpr double stream_rate_hz = 1500.0; // lowest rate after decimation
// three harmonics that are 3 Hz off turn by less than half a turn in it
constexpr double short_hop_s = 0.05;
constexpr int first_harmonics = 3, followed_harmonics = 8;
constexpr std::ptrdiff_t beside = 4; // short blocks on either side used for a frequency
constexpr double most_off_hz = 3.0;
constexpr double loud = 1.5; // times the usual amplitude; such blocks hold more than hum
constexpr double least_steadiness = 0.6;  // noise has 0.4
constexpr double free_steadiness = 0.85;  // of hum strong enough to be followed without a model
constexpr double least_coherence = 0.7;   // of the blocks with the path
constexpr double rigid_coherence = 0.999; // a parabola that fits so well is a network's
constexpr double freer_is_better = 1.05;  // necessary gain in power
constexpr int passes = 3;

/// Decimates with a triangular filter: every ratio-th output.
std::vector<float> brought_down(std::span<const float> x, std::size_t ratio) {
    if (ratio == 1) return {x.begin(), x.end()};
    std::vector<float> low(x.size() / ratio + 1, 0.0F);
    const float scale = 1.0F / static_cast<float>(ratio);
    for (std::size_t k = 0; k < x.size() / ratio; ++k) {
        float sum = 0.0F, rising = 0.0F;
        for (std::size_t i = 0; i < ratio; ++i) {
            sum += x[k * ratio + i];
            rising += static_cast<float>(i) * x[k * ratio + i];
        }
        low[k] += scale * (sum - scale * rising);
        low[k + 1] += scale * scale * rising;
    }
    return low;
}

/// The rising half of a Hann window over two hops, over the number of samples in a hop.
std::vector<double> rising_half(std::size_t hop) {
    std::vector<double> half;
    for (std::size_t i = 0; i < hop; ++i)
        half.push_back((1.0 - std::cos(std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                       static_cast<double>(hop))) /
                       static_cast<double>(hop));
    return half;
}

/// A frequency in short blocks. Loud blocks are 0, since a knock hides the hum's phase.
Amplitudes short_blocks(std::span<const float> x, double rate_hz, double hz) {
    const auto hop = static_cast<std::size_t>(std::llround(short_hop_s * rate_hz));
    const std::size_t hops = x.size() / hop;
    if (hops < 2) return {};
    const std::vector<double> rise = rising_half(hop);
    const double whole = 2.0 / static_cast<double>(hop),
                 angle = 2.0 * std::numbers::pi * hz / rate_hz;
    const double c = std::cos(angle), s = std::sin(angle);
    Amplitudes z(hops - 1);
    double re = 1.0, im = 0.0; // turns backwards
    for (std::size_t b = 0; b < hops; ++b) {
        double rising_re = 0.0, rising_im = 0.0, all_re = 0.0, all_im = 0.0;
        for (std::size_t i = 0; i < hop; ++i) {
            const double v = static_cast<double>(x[b * hop + i]), a = v * re, d = v * im;
            all_re += a;
            all_im += d;
            rising_re += rise[i] * a;
            rising_im += rise[i] * d;
            const double turned = re * c + im * s;
            im = im * c - re * s;
            re = turned;
        }
        if (b + 1 < hops) z[b] += Complex(rising_re, rising_im);
        if (b > 0) z[b - 1] += Complex(whole * all_re - rising_re, whole * all_im - rising_im);
    }
    std::vector<double> size;
    for (const Complex& one : z)
        size.push_back(std::abs(one));
    const double most = loud * median(size);
    for (Complex& one : z)
        if (std::abs(one) > most) one = 0.0;
    return z;
}

/// The fundamental's frequency between short blocks.
struct Course {
    std::vector<double> hz, weight;
    int harmonic = 0;
    double steadiness = 0.0, amplitude = 0.0;
};

Course course_of(const Amplitudes& z, int harmonic, double nominal_hz) {
    Course course;
    course.harmonic = harmonic;
    const auto n = static_cast<std::ptrdiff_t>(z.size());
    std::vector<double> size;
    double steady = 0.0, all = 0.0;
    for (std::ptrdiff_t b = 1; b < n; ++b) {
        Complex sum;
        double most = 0.0;
        for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(1, b - beside);
             j <= std::min(n - 1, b + beside); ++j) {
            const Complex product =
                z[static_cast<std::size_t>(j)] * std::conj(z[static_cast<std::size_t>(j - 1)]);
            sum += product;
            most += std::abs(product);
        }
        steady += std::abs(sum);
        all += most;
        course.hz.push_back(nominal_hz +
                            std::arg(sum) / (2.0 * std::numbers::pi * short_hop_s * harmonic));
        course.weight.push_back(std::abs(sum));
    }
    for (const Complex& one : z)
        size.push_back(std::abs(one));
    course.steadiness = all > 0.0 ? steady / all : 0.0;
    course.amplitude = median(size);
    return course;
}

/// Weighted polynomial through values at 0, 1, 2, ..., evaluated there and at `beyond` places on
/// either side.
std::vector<double> fitted(const std::vector<double>& values, const std::vector<double>& weights,
                           int degree, std::ptrdiff_t beyond) {
    Eigen::MatrixXd squares = Eigen::MatrixXd::Zero(degree + 1, degree + 1);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(degree + 1);
    const double scale = 2.0 / static_cast<double>(values.size()), middle = 1.0;
    const auto row = [&](double i) {
        Eigen::VectorXd powers(degree + 1);
        for (int d = 0; d <= degree; ++d)
            powers(d) = std::pow(i * scale - middle, d);
        return powers;
    };
    for (std::size_t i = 0; i < values.size(); ++i) {
        const Eigen::VectorXd powers = row(static_cast<double>(i));
        squares += weights[i] * powers * powers.transpose();
        right += weights[i] * values[i] * powers;
    }
    const Eigen::VectorXd fit = squares.ldlt().solve(right);
    std::vector<double> out;
    for (std::ptrdiff_t i = -beyond; i < static_cast<std::ptrdiff_t>(values.size()) + beyond; ++i)
        out.push_back(fit.dot(row(static_cast<double>(i))));
    return out;
}

/// The same without a model: mean of each value and its two neighbours, continued linearly at the
/// ends.
std::vector<double> smoothed(const std::vector<double>& values,
                             const std::vector<double>& weights) {
    std::vector<double> out;
    const std::size_t n = values.size();
    for (std::size_t i = 0; i < n; ++i) {
        double sum = 0.0, all = 0.0;
        for (std::size_t reach = 1; all <= 0.0 && reach < n; ++reach)
            for (std::size_t j = i - std::min(i, reach); j <= std::min(n - 1, i + reach); ++j) {
                const double weight = weights[j] * (j == i ? 2.0 : 1.0);
                sum += weight * values[j];
                all += weight;
            }
        out.push_back(all > 0.0 ? sum / all : 0.0);
    }
    out.insert(out.begin(), 2.0 * out[0] - out[1]);
    out.push_back(2.0 * out[out.size() - 1] - out[out.size() - 2]);
    return out;
}

/// One decimated segment.
class Follower {
  public:
    Follower(std::span<const float> low, double sample_s)
        : low_(low), sample_s_(sample_s),
          hop_(static_cast<std::size_t>(std::llround(0.1 / sample_s))), blocks_(hop_) {}

    struct Fit {
        PhasePath path;
        double power = 0.0, coherence = 0.0; ///< explained; of the harmonic by which it was found
    };

    [[nodiscard]] Fit follow(const Course& course, bool freely) const {
        Fit fit;
        fit.path = integrated(course, freely);
        for (int pass = 0; pass < passes; ++pass) {
            const auto z = blocks_.measure(low_, fit.path.fractions(low_.size(), sample_s_),
                                           followed_harmonics);
            judge(z, course.harmonic, fit);
            if (pass + 1 < passes) correct(z, course.harmonic, pass == 0, freely, fit.path);
        }
        return fit;
    }

  private:
    [[nodiscard]] PhasePath integrated(const Course& course, bool freely) const {
        const std::vector<double> hz = freely ? course.hz : fitted(course.hz, course.weight, 1, 0);
        PhasePath path{static_cast<double>(hop_) * sample_s_, {0.0}};
        const std::size_t knots = low_.size() / hop_ + 1;
        for (std::size_t k = 1; k < knots; ++k) {
            const std::size_t second = std::min(2 * k - 1, hz.size()) - 1,
                              first = std::min(2 * k - 2, hz.size());
            path.turns.push_back(path.turns.back() +
                                 0.5 * path.step_s * (hz[first ? first - 1 : 0] + hz[second]));
        }
        return path;
    }

    static std::vector<double> weights_of(const Amplitudes& z) {
        std::vector<double> size, weights;
        for (const Complex& one : z)
            size.push_back(std::abs(one));
        const double most = loud * median(size);
        for (const double one : size)
            weights.push_back(one > most ? 0.0 : one);
        return weights;
    }

    static void judge(const std::vector<Amplitudes>& z, int harmonic, Fit& fit) {
        fit.power = 0.0;
        for (const Amplitudes& blocks : z)
            fit.power += std::norm(typical(blocks));
        const Amplitudes& own = z[static_cast<std::size_t>(harmonic - 1)];
        const std::vector<double> weights = weights_of(own);
        Complex sum;
        double all = 0.0;
        for (std::size_t b = 0; b < own.size(); ++b) {
            if (weights[b] > 0.0) sum += own[b];
            all += weights[b];
        }
        fit.coherence = all > 0.0 ? std::abs(sum) / all : 0.0;
    }

    static Complex typical(const Amplitudes& z) {
        std::vector<double> real, imaginary;
        for (const Complex& one : z) {
            real.push_back(one.real());
            imaginary.push_back(one.imag());
        }
        return {median(std::move(real)), median(std::move(imaginary))};
    }

    /// Corrects the remaining phase of the blocks: first by one harmonic from block to block, then
    /// by all harmonics against their typical phases.
    static void correct(const std::vector<Amplitudes>& z, int harmonic, bool first, bool freely,
                        PhasePath& path) {
        const Amplitudes& own = z[static_cast<std::size_t>(harmonic - 1)];
        const std::vector<double> weights = weights_of(own);
        std::vector<double> off; // in turns of the fundamental
        if (first) {
            double turned = 0.0;
            const Complex* before = nullptr;
            for (std::size_t b = 0; b < own.size(); ++b) {
                if (weights[b] > 0.0) {
                    if (before)
                        turned += std::arg(own[b] * std::conj(*before)) /
                                  (2.0 * std::numbers::pi * harmonic);
                    before = &own[b];
                }
                off.push_back(turned);
            }
        } else {
            for (std::size_t b = 0; b < own.size(); ++b) {
                double sum = 0.0, all = 1e-30;
                for (std::size_t h = 0; h < z.size(); ++h) {
                    const Complex usual = typical(z[h]);
                    const double times = static_cast<double>(h + 1);
                    sum += times * std::imag(z[h][b] * std::conj(usual));
                    all += times * times * std::abs(z[h][b]) * std::abs(usual);
                }
                off.push_back(sum / all / (2.0 * std::numbers::pi));
            }
        }
        const std::vector<double> change =
            freely ? smoothed(off, weights) : fitted(off, weights, 2, 1);
        for (std::size_t k = 0; k < path.turns.size(); ++k)
            path.turns[k] += change[std::min(k, change.size() - 1)];
    }

    std::span<const float> low_;
    double sample_s_;
    std::size_t hop_;
    HarmonicBlocks blocks_;
};

} // namespace

std::optional<MainsPhase> find_mains(std::span<const float> samples, double rate_hz,
                                     std::span<const double> nominal_hz) {
    const auto ratio = std::max<std::size_t>(1, static_cast<std::size_t>(rate_hz / stream_rate_hz));
    const std::vector<float> low = brought_down(samples, ratio);
    const double sample_s = static_cast<double>(ratio) / rate_hz;
    Course best;
    for (const double nominal : nominal_hz)
        for (int h = 1; h <= first_harmonics; ++h) {
            Course course = course_of(short_blocks(low, 1.0 / sample_s, nominal * h), h, nominal);
            if (course.hz.size() < 2 || course.steadiness < least_steadiness ||
                course.amplitude < best.amplitude ||
                std::fabs(median(course.hz) - nominal) > most_off_hz)
                continue;
            best = std::move(course);
        }
    if (best.harmonic == 0) return std::nullopt;
    const Follower follower(low, sample_s);
    Follower::Fit fit = follower.follow(best, false);
    if (best.steadiness >= free_steadiness && fit.coherence < rigid_coherence) {
        Follower::Fit freer = follower.follow(best, true);
        if (freer.power > freer_is_better * fit.power) fit = std::move(freer);
    }
    if (fit.coherence < least_coherence) return std::nullopt;
    return MainsPhase{std::move(fit.path)};
}

} // namespace lull
