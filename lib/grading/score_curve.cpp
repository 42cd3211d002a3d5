// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/score_curve.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace lull {
namespace {

constexpr int most_steps = 200;
constexpr double still = 1e-11; ///< the search ends at a smaller step of the log likelihood
/// Smallest spread, relative to the SNR range. Below it the curve is a step, not a slope.
constexpr double steepest = 0.01;

/// The line behind the curve, in an SNR shifted and scaled to about -1..1.
struct Line {
    double at_middle = 0.0, slope = 0.0;
};

struct Model {
    std::span<const HeardAt> data;
    double guess, lapse, middle, scale;

    [[nodiscard]] double x(const HeardAt& d) const { return (d.snr_db - middle) / scale; }
    [[nodiscard]] double rise(double eta) const { return 1.0 / (1.0 + std::exp(-eta)); }
    [[nodiscard]] double chance(double eta) const {
        return std::clamp(guess + (1.0 - guess - lapse) * rise(eta), 1e-15, 1.0 - 1e-15);
    }
    [[nodiscard]] double log_likelihood(const Line& line) const {
        double sum = 0.0;
        for (const HeardAt& d : data) {
            const double p = chance(line.at_middle + line.slope * x(d));
            sum += d.heard * std::log(p) + (d.listeners - d.heard) * std::log1p(-p);
        }
        return sum;
    }
};

/// Gradient of the log likelihood and the information, both in (at_middle, slope).
struct Scoring {
    double g0 = 0.0, g1 = 0.0, i00 = 0.0, i01 = 0.0, i11 = 0.0;
    [[nodiscard]] double determinant() const { return i00 * i11 - i01 * i01; }
};

Scoring scoring_of(const Model& model, const Line& line) {
    Scoring s;
    for (const HeardAt& d : model.data) {
        const double x = model.x(d), eta = line.at_middle + line.slope * x;
        const double p = model.chance(eta), f = model.rise(eta);
        const double steep = (1.0 - model.guess - model.lapse) * f * (1.0 - f);
        const double gradient = (d.heard - d.listeners * p) / (p * (1.0 - p)) * steep;
        const double information = d.listeners * steep * steep / (p * (1.0 - p));
        s.g0 += gradient;
        s.g1 += gradient * x;
        s.i00 += information;
        s.i01 += information * x;
        s.i11 += information * x * x;
    }
    return s;
}

bool climb(const Model& model, Line& line) {
    double value = model.log_likelihood(line);
    for (int i = 0; i < most_steps; ++i) {
        const Scoring s = scoring_of(model, line);
        if (!(s.determinant() > 1e-14 * s.i00 * s.i11)) return false;
        const double by0 = (s.i11 * s.g0 - s.i01 * s.g1) / s.determinant();
        const double by1 = (s.i00 * s.g1 - s.i01 * s.g0) / s.determinant();
        double share = 1.0, next = value;
        Line tried = line;
        for (int half = 0; half < 40; ++half, share *= 0.5) {
            tried = {line.at_middle + share * by0, line.slope + share * by1};
            next = model.log_likelihood(tried);
            if (next >= value) break;
        }
        if (next < value) return true; // no step climbs: this is the maximum, to rounding
        line = tried;
        const bool top = next - value < still && std::abs(by0) + std::abs(by1) < 1e-7;
        value = next;
        if (top) return true;
    }
    return false;
}

/// Whether one SNR separates heard from unheard completely. Then the likelihood grows with the
/// slope without limit [published: Albert & Anderson 1984, Biometrika 71, 1-10].
bool fall_apart(std::span<const HeardAt> data) {
    double lowest_heard = HUGE_VAL, highest_unheard = -HUGE_VAL;
    for (const HeardAt& d : data) {
        if (d.heard > 0) lowest_heard = std::min(lowest_heard, d.snr_db);
        if (d.heard < d.listeners) highest_unheard = std::max(highest_unheard, d.snr_db);
    }
    return highest_unheard <= lowest_heard;
}

constexpr const char* steep = "one SNR separates heard from unheard: any steep curve fits";

std::string why_no_curve(std::span<const HeardAt> data) {
    std::set<double> levels;
    int heard = 0, listeners = 0;
    for (const HeardAt& d : data) {
        if (d.listeners > 0) levels.insert(d.snr_db);
        heard += d.heard;
        listeners += d.listeners;
    }
    if (levels.size() < 3) return "fewer than three different SNRs";
    if (heard == 0) return "none was heard";
    if (heard == listeners) return "all were heard";
    if (fall_apart(data)) return steep;
    return "";
}

/// Adds every SNR at which the line may pass its middle [published: Fieller 1954, JRSS B 16,
/// 175-185]. When the slope may be 0, these are all SNRs: no limits.
void add_limits(HearingCurve& curve, const Model& model, const Line& line, const Scoring& s) {
    const double z2 = deviate_95 * deviate_95 / s.determinant();
    const double v00 = s.i11 * z2, v01 = -s.i01 * z2, v11 = s.i00 * z2;
    const double a = line.slope * line.slope - v11;
    if (!(a > 0.0)) return;
    const double half_b = line.at_middle * line.slope - v01;
    const double c = line.at_middle * line.at_middle - v00;
    const double reach = std::sqrt(std::max(0.0, half_b * half_b - a * c));
    // In the scaled SNR the data reach from -1 to 1. A limit beyond that comes from the model
    // alone.
    const double low = (-half_b - reach) / a, high = (-half_b + reach) / a;
    if (low >= -1.0) curve.threshold_db.low = model.middle + model.scale * low;
    if (high <= 1.0) curve.threshold_db.high = model.middle + model.scale * high;
    // In the logarithm, so that a spread stays positive.
    const double factor = std::exp(std::sqrt(v11) / line.slope);
    curve.spread_db.low = *curve.spread_db.value / factor;
    curve.spread_db.high = *curve.spread_db.value * factor;
}

} // namespace

HearingCurve fit_hearing_curve(std::span<const HeardAt> data, double guess, double lapse) {
    HearingCurve curve;
    curve.guess = guess;
    curve.lapse = lapse;
    for (const HeardAt& d : data)
        curve.trials += d.listeners;
    curve.why_not = why_no_curve(data);
    if (!curve.why_not.empty()) return curve;

    const auto [low, high] =
        std::minmax_element(data.begin(), data.end(),
                            [](const HeardAt& a, const HeardAt& b) { return a.snr_db < b.snr_db; });
    const double range = high->snr_db - low->snr_db;
    const Model model{data, guess, lapse, 0.5 * (low->snr_db + high->snr_db), 0.5 * range};
    Line line{0.0, 1.0};
    const bool found = climb(model, line);
    const double spread = model.scale / line.slope;
    const double threshold = model.middle - spread * line.at_middle;
    if (line.slope <= 0.0)
        curve.why_not = "louder sounds were not heard more often than weaker ones";
    else if (!found || spread < steepest * range)
        curve.why_not = steep;
    else if (threshold < low->snr_db || threshold > high->snr_db)
        curve.why_not = "the threshold lies outside the SNRs of the events";
    if (!curve.why_not.empty()) return curve;
    curve.threshold_db.value = threshold;
    curve.spread_db.value = spread;
    add_limits(curve, model, line, scoring_of(model, line));
    curve.log_likelihood = model.log_likelihood(line);
    return curve;
}

} // namespace lull
