// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/run_meter.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double least_run_s = 0.004; // shorter runs may be chance

} // namespace

RunMeter::RunMeter(double rate_hz)
    : least_run_(std::max<Frame>(2 * chunk, std::llround(least_run_s * rate_hz))) {}

void RunMeter::constant_chunk(std::span<const float> piece, std::size_t at, Frame first) {
    if (open_) {
        follow(piece, first);
        if (run_.stretch.first + run_.stretch.count > first + static_cast<Frame>(at)) return;
        end_run();
    }
    run_ = {};
    run_.value = piece[at];
    std::size_t begin = at;
    while (begin > 0 && piece[begin - 1] == run_.value)
        --begin;
    run_.stretch.first = first + static_cast<Frame>(begin);
    if (begin == 0 && tail_end_ == first && tail_value_ == run_.value)
        run_.stretch.first -= tail_count_;
    run_.stretch.count = first + static_cast<Frame>(at + chunk) - run_.stretch.first;
    open_ = true;
}

void RunMeter::follow(std::span<const float> piece, Frame first) {
    const Frame end = run_.stretch.first + run_.stretch.count;
    if (end < first) return; // a gap lies between them
    auto i = static_cast<std::size_t>(end - first);
    while (i < piece.size() && piece[i] == run_.value)
        ++i;
    run_.stretch.count = first + static_cast<Frame>(i) - run_.stretch.first;
}

void RunMeter::end_run() {
    open_ = false;
    if (run_.stretch.count >= least_run_) ended_.push_back(run_);
}

void RunMeter::end_piece(std::span<const float> piece, Frame first, double difference_power,
                         double peak) {
    if (piece.empty()) return;
    const Frame end = first + static_cast<Frame>(piece.size());
    const auto take = [&](Candidate& run) {
        run.difference_power = std::max(run.difference_power, difference_power);
        run.peak = std::max(run.peak, peak);
    };
    if (open_) {
        follow(piece, first);
        take(run_);
        if (run_.stretch.first + run_.stretch.count < end) end_run();
    }
    for (Candidate& run : ended_)
        take(run);
    candidates_.insert(candidates_.end(), ended_.begin(), ended_.end());
    ended_.clear();
    std::size_t tail = piece.size();
    tail_value_ = piece.back();
    while (tail > 0 && piece[tail - 1] == tail_value_)
        --tail;
    const Frame before =
        tail == 0 && tail_end_ == first && piece.front() == tail_value_ ? tail_count_ : 0;
    tail_count_ = static_cast<Frame>(piece.size() - tail) + before;
    tail_end_ = end;
}

void RunMeter::finish(double least_step) {
    if (open_) end_run();
    candidates_.insert(candidates_.end(), ended_.begin(), ended_.end());
    for (const Candidate& run : candidates_) {
        // Where neighbours differ by less than a quantum, runs are normal; at the extremes they are
        // clipping.
        const double quantum = std::max(least_step, 1e-12);
        if (run.difference_power < quantum * quantum) continue;
        if (run.value != 0.0F && std::fabs(static_cast<double>(run.value)) >= 0.98 * run.peak)
            continue;
        (run.value == 0.0F ? zeroed : held).add(run.stretch);
    }
}

} // namespace lull
