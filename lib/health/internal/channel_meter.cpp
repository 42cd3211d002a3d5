// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/channel_meter.hpp"

#include "clones.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull {
namespace {

constexpr std::size_t chunk = RunMeter::chunk;
constexpr std::size_t part = 512; // samples between two decisions whether detailed tests are needed
constexpr std::size_t sampled = 8; // the quantum is searched for in one part of so many

constexpr std::size_t lanes = 16;
using Lanes = std::array<float, lanes>;

double total(const Lanes& v) {
    double sum = 0.0;
    for (float x : v)
        sum += static_cast<double>(x);
    return sum;
}

/// Sums over a part of a channel. In single precision within a lane, which gets 32 samples of a
/// part.
struct PartSums {
    Lanes sum{}, squares{}, change{}, top{}, bottom{};
};

/// Adds samples [begin, end) of x, in number a multiple of `lanes`. x[begin - 1] must exist.
LULL_CLONES void take_part(PartSums& result, const float* x, std::size_t begin, std::size_t end) {
    PartSums sums;
    sums.top.fill(x[begin]);
    sums.bottom.fill(x[begin]);
    for (std::size_t i = begin; i < end; i += lanes)
        for (std::size_t j = 0; j < lanes; ++j) {
            const float s = x[i + j], d = s - x[i + j - 1];
            sums.sum[j] += s;
            sums.squares[j] += s * s;
            sums.change[j] += d * d;
            sums.top[j] = s > sums.top[j] ? s : sums.top[j];
            sums.bottom[j] = s < sums.bottom[j] ? s : sums.bottom[j];
        }
    result = sums;
}

bool constant(const float* x) {
    if (x[0] != x[chunk - 1] || x[0] != x[chunk / 2]) return false;
    return std::all_of(x, x + chunk, [x](float v) { return v == x[0]; });
}

} // namespace

HealthMeter::ChannelMeter::ChannelMeter(double rate_hz, bool a_weighted)
    : hum_(rate_hz), runs_(rate_hz), repeats_(rate_hz), probe_(rate_hz) {
    if (a_weighted) weighted_.emplace(rate_hz);
    health.step = std::max<Frame>(1, std::llround(health_step_s * rate_hz));
}

void HealthMeter::ChannelMeter::look_at_steps(std::span<const float> samples) {
    for (std::size_t i = 1; i < samples.size(); ++i) {
        const double d =
            std::fabs(static_cast<double>(samples[i]) - static_cast<double>(samples[i - 1]));
        if (d > 0.0 && (health.least_step == 0.0 || d < health.least_step)) health.least_step = d;
    }
}

void HealthMeter::ChannelMeter::measure_part(std::span<const float> piece, std::size_t begin,
                                             std::size_t end, Frame first) {
    const float* x = piece.data();
    float high = x[begin], low = x[begin], before = begin > 0 ? x[begin - 1] : 0.0F;
    if (begin == 0) before = last_end_ == first ? last_ : x[0];
    double differences = 0.0;
    const auto one = [&](std::size_t i) {
        const double s = static_cast<double>(x[i]), d = s - static_cast<double>(before);
        now_.sum += s;
        now_.squares += s * s;
        differences += d * d;
        high = std::max(high, x[i]);
        low = std::min(low, x[i]);
        before = x[i];
    };
    std::size_t i = begin;
    if (i == 0) one(i++);
    const std::size_t whole = i + (end - i) / lanes * lanes;
    if (whole > i) {
        PartSums part_sums;
        take_part(part_sums, x, i, whole);
        now_.sum += total(part_sums.sum);
        now_.squares += total(part_sums.squares);
        differences += total(part_sums.change);
        high = std::max(high, *std::max_element(part_sums.top.begin(), part_sums.top.end()));
        low = std::min(low, *std::min_element(part_sums.bottom.begin(), part_sums.bottom.end()));
        before = x[whole - 1];
        i = whole;
    }
    while (i < end)
        one(i++);
    for (std::size_t at = begin; at + chunk <= end; at += chunk)
        if (constant(x + at)) runs_.constant_chunk(piece, at, first);
    now_.differences += differences;
    now_.high = now_.frames ? std::max(now_.high, high) : high;
    now_.low = now_.frames ? std::min(now_.low, low) : low;
    const auto count = static_cast<Frame>(end - begin);
    now_.frames += count;
    // Decays slowly, so that the part before a dropout still counts when the dropout ends.
    difference_power_ = std::max(0.9 * difference_power_, differences / static_cast<double>(count));
    const auto samples = piece.subspan(begin, end - begin);
    const Frame at = first + static_cast<Frame>(begin);
    if (high_.concerns(high)) high_.look(samples, at);
    if (low_.concerns(low)) low_.look(samples, at);
    if ((at / static_cast<Frame>(part)) % static_cast<Frame>(sampled) == 0) look_at_steps(samples);
}

void HealthMeter::ChannelMeter::measure(std::span<const float> piece, Frame first) {
    if (piece.empty()) return;
    const double lively = difference_power_;
    double liveliest = lively;
    for (std::size_t i = 0; i < piece.size();) {
        const Frame at = first + static_cast<Frame>(i);
        if (at / health.step != step_) {
            end_step();
            step_ = at / health.step;
        }
        const Frame step_end = (step_ + 1) * health.step - first;
        const std::size_t end =
            std::min({piece.size(), i + part, static_cast<std::size_t>(step_end)});
        measure_part(piece, i, end, first);
        liveliest = std::max(liveliest, difference_power_);
        i = end;
    }
    runs_.end_piece(piece, first, liveliest, std::max(high_.level(), low_.level()));
    repeats_.look(piece, first);
    jumps_.look(piece, first);
    probe_.look(piece, first);
    hum_.push(piece);
    if (weighted_) weight(piece, first);
    last_ = piece.back();
    last_end_ = first + static_cast<Frame>(piece.size());
}

void HealthMeter::ChannelMeter::weight(std::span<const float> piece, Frame first) {
    weighted_->push(piece, first, [this](Frame middle, Frame frames, double power) {
        const auto at = static_cast<std::size_t>(middle / health.step - health.first / health.step);
        if (at >= weighted_steps_.size()) weighted_steps_.resize(at + 1);
        add_weighted(weighted_steps_[at], power, frames);
    });
}

void HealthMeter::ChannelMeter::end_step() {
    if (step_ < 0) return;
    const std::int64_t at = step_ - health.first / health.step;
    health.steps.resize(static_cast<std::size_t>(at + 1));
    if (now_.frames == 0) return;
    const auto n = static_cast<double>(now_.frames);
    HealthStep& step = health.steps.back();
    const double mean = now_.sum / n, power = std::max(0.0, now_.squares / n - mean * mean);
    step.mean = static_cast<float>(mean);
    step.power = static_cast<float>(power);
    step.high_share = power > 0.0 ? static_cast<float>(now_.differences / n / (4.0 * power)) : 0.0F;
    step.peak = std::max(std::fabs(now_.high), std::fabs(now_.low));
    step.frames = now_.frames;
    health.frames += now_.frames;
    health.sum += now_.sum;
    health.sum_of_squares += now_.squares;
    health.peak = std::max(health.peak, static_cast<double>(step.peak));
    now_ = {};
}

ChannelHealth HealthMeter::ChannelMeter::finish() {
    end_step();
    for (std::size_t i = 0; i < std::min(weighted_steps_.size(), health.steps.size()); ++i)
        add_weighted(health.steps[i], static_cast<double>(weighted_steps_[i].weighted_power),
                     weighted_steps_[i].weighted_frames);
    runs_.finish(health.least_step);
    health.zeroed = runs_.zeroed;
    health.held = runs_.held;
    health.repeated = repeats_.finish(health.frames);
    health.jumps = jumps_.found();
    health.spectrum = probe_.looks();
    for (const ClipMeter* side : {&high_, &low_}) {
        if (!side->clipped(health.least_step)) continue;
        health.clipped = merged(health.clipped, side->runs());
        if (health.clip_level == 0.0 || side->level() < health.clip_level)
            health.clip_level = side->level();
    }
    if (const auto unit = hum_.finish(health.first, last_end_ - health.first))
        health.hum.push_back(*unit);
    return std::move(health);
}

} // namespace lull
