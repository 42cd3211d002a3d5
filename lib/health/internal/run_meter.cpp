// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/run_meter.hpp"

#include "clones.hpp"

#include <algorithm>
#include <cmath>

namespace lull {
namespace {

constexpr double least_run_s = 0.004; // shorter runs are left to chance
constexpr double probe_every_s = 0.010, probe_reach_s = 0.050, least_repeat_s = 0.005;
constexpr double most_repeated = 0.3; // of a unit; more, and the signal itself is periodic
constexpr std::size_t lagless = 32;   // nearest lag looked at, in samples

/// The first i in [begin, end) at which the line has `value` and then `next`; `end` if there is
/// none. The line is at least 16 samples longer than that.
LULL_CLONES std::size_t find_pair(const float* line, std::size_t begin, std::size_t end,
                                  float value, float next) {
    constexpr std::size_t lanes = 16;
    for (std::size_t i = begin; i < end; i += lanes) {
        std::uint32_t same = 0;
        for (std::size_t j = 0; j < lanes; ++j)
            same += line[i + j] == value ? 1U : 0U;
        if (same == 0) continue;
        for (std::size_t j = i; j < std::min(i + lanes, end); ++j)
            if (line[j] == value && line[j + 1] == next) return j;
    }
    return end;
}

} // namespace

RunMeter::RunMeter(double rate_hz)
    : least_run_(std::max<Frame>(2 * chunk, std::llround(least_run_s * rate_hz))) {}

void RunMeter::constant_chunk(std::span<const float> piece, std::size_t at, Frame first) {
    if (open_) {
        if (run_.value == piece[at]) return;
        run_.stretch.count = first + static_cast<Frame>(at) - run_.stretch.first;
        close();
    }
    run_ = {};
    run_.value = piece[at];
    std::size_t begin = at;
    while (begin > 0 && piece[begin - 1] == run_.value)
        --begin;
    run_.stretch.first = first + static_cast<Frame>(begin);
    if (begin == 0 && tail_end_ == first && tail_value_ == run_.value)
        run_.stretch.first -= tail_count_;
    run_.stretch.count = 0;
    open_ = true;
}

void RunMeter::end_piece(std::span<const float> piece, Frame first, double difference_power,
                         double peak) {
    if (piece.empty()) return;
    const Frame end = first + static_cast<Frame>(piece.size());
    if (open_) {
        const Frame from = std::max<Frame>(0, run_.stretch.first - first);
        auto i = static_cast<std::size_t>(from);
        const bool follows = run_.stretch.first >= first || tail_end_ == first;
        while (follows && i < piece.size() && piece[i] == run_.value)
            ++i;
        run_.stretch.count = first + static_cast<Frame>(i) - run_.stretch.first;
        run_.difference_power = std::max(run_.difference_power, difference_power);
        run_.peak = std::max(run_.peak, peak);
        if (i < piece.size()) close();
    }
    std::size_t tail = piece.size();
    tail_value_ = piece.back();
    while (tail > 0 && piece[tail - 1] == tail_value_)
        --tail;
    const Frame before =
        tail == 0 && tail_end_ == first && piece.front() == tail_value_ ? tail_count_ : 0;
    tail_count_ = static_cast<Frame>(piece.size() - tail) + before;
    tail_end_ = end;
}

void RunMeter::close() {
    open_ = false;
    if (run_.stretch.count < least_run_) return;
    if (candidates_.size() < StretchList::most_listed) candidates_.push_back(run_);
}

void RunMeter::finish(double least_step) {
    if (open_) close();
    for (const Candidate& run : candidates_) {
        // Where neighbours differ by less than a quantum, runs are to be expected; at the extremes
        // they are clipping.
        const double quantum = std::max(least_step, 1e-12);
        if (run.difference_power < quantum * quantum) continue;
        if (run.value != 0.0F && std::fabs(static_cast<double>(run.value)) >= 0.98 * run.peak)
            continue;
        (run.value == 0.0F ? zeroed : held).add(run.stretch);
    }
}

RepeatMeter::RepeatMeter(double rate_hz)
    : every_(static_cast<std::size_t>(probe_every_s * rate_hz)),
      reach_(static_cast<std::size_t>(probe_reach_s * rate_hz)),
      least_(std::max<std::size_t>(lagless, static_cast<std::size_t>(least_repeat_s * rate_hz))) {}

void RepeatMeter::look(std::span<const float> piece, Frame first) {
    if (line_first_ + static_cast<Frame>(line_.size()) != first) {
        line_.clear();
        line_first_ = first;
    }
    line_.insert(line_.end(), piece.begin(), piece.end());
    const Frame end = line_first_ + static_cast<Frame>(line_.size());
    const auto reach = static_cast<Frame>(reach_), room = static_cast<Frame>(2 * every_);
    next_probe_ = std::max(next_probe_, line_first_ + reach);
    for (; next_probe_ + room <= end; next_probe_ += static_cast<Frame>(every_))
        if (next_probe_ >= found_end_) probe(static_cast<std::size_t>(next_probe_ - line_first_));
    const Frame keep_from = std::max(line_first_, next_probe_ - 2 * reach);
    line_.erase(line_.begin(),
                line_.begin() + static_cast<std::ptrdiff_t>(keep_from - line_first_));
    line_first_ = keep_from;
}

void RepeatMeter::probe(std::size_t at) {
    const float value = line_[at], next = line_[at + 1];
    if (value == next) return; // a run, not a pattern
    const std::size_t end = at - std::min(lagless, reach_);
    for (std::size_t i = at - reach_; (i = find_pair(line_.data(), i, end, value, next)) < end; ++i)
        if (accept(at, at - i)) return;
}

bool RepeatMeter::accept(std::size_t at, std::size_t lag) {
    std::size_t begin = at, end = at;
    while (begin > lag && line_[begin - 1] == line_[begin - 1 - lag])
        --begin;
    while (end < line_.size() && line_[end] == line_[end - lag])
        ++end;
    if (end - begin < least_) return false;
    std::size_t changes = 0;
    for (std::size_t i = begin + 1; i < end; ++i)
        changes += line_[i] != line_[i - 1] ? 1U : 0U;
    if (changes < least_ / 2) return false;
    const Frame first = std::max(found_end_, line_first_ + static_cast<Frame>(begin));
    found_end_ = line_first_ + static_cast<Frame>(end);
    if (found_end_ > first) found_.add({first, found_end_ - first});
    return true;
}

StretchList RepeatMeter::finish(Frame measured) {
    if (static_cast<double>(found_.frames) > most_repeated * static_cast<double>(measured))
        return {};
    return found_;
}

} // namespace lull
