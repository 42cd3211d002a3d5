// SPDX-License-Identifier: GPL-3.0-or-later
#include "health/internal/repeat_meter.hpp"

#include "clones.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstring>

namespace lull {
namespace {

constexpr double reach_s = 1.0, least_repeat_s = 0.005, landmark_s = 0.001;
constexpr double most_repeated = 0.3; // of a unit; a signal that repeats more is itself periodic
constexpr Frame most_times = 8; // a block repeated this often in sequence is the period of a tone
constexpr std::size_t least_lag = 32; // samples
constexpr std::size_t digested = 8;   // samples
constexpr std::size_t slots = 4096;   // one landmark each; a later one replaces an earlier one
constexpr std::uint32_t first_factor = 0x9E3779B1U, second_factor = 0x85EBCA77U; // odd
constexpr std::uint32_t offset = 1U; // so that two zeros are no landmark

constexpr std::size_t lanes = 16;
using Words = std::uint32_t __attribute__((vector_size(lanes * sizeof(std::uint32_t))));
using Bytes = std::uint8_t __attribute__((vector_size(lanes)));

/// Packs eight bytes of 0 or 1 into one byte. The factor moves byte k to bit 56 + k.
inline std::uint32_t bits_of(std::uint64_t bytes) {
    if constexpr (std::endian::native == std::endian::big) bytes = __builtin_bswap64(bytes);
    return static_cast<std::uint32_t>(bytes * 0x0102040810204080U >> 56U);
}

/// The landmarks among the 16 samples from `line` on, one bit each. Reads 17 samples.
inline __attribute__((always_inline)) std::uint32_t landmarks_among(const float* line,
                                                                    std::uint32_t zeros) {
    Words own, next;
    std::memcpy(&own, line, sizeof own);
    std::memcpy(&next, line + 1, sizeof next);
    const Words tested = (own + next * second_factor + offset) * first_factor & zeros;
    const Words ones = tested == Words{} ? Words{} + 1U : Words{};
    const Bytes bytes = __builtin_convertvector(ones, Bytes);
    std::array<std::uint64_t, 2> halves;
    std::memcpy(halves.data(), &bytes, sizeof bytes);
    return bits_of(halves[0]) | bits_of(halves[1]) << 8U;
}

/// Lists the landmarks in [begin, end). The line must be at least 16 samples longer.
LULL_CLONES void find_landmarks(const float* line, std::size_t begin, std::size_t end,
                                std::uint32_t zeros, std::vector<std::size_t>& found) {
    found.clear();
    for (std::size_t i = begin; i < end; i += lanes) {
        std::uint32_t bits = landmarks_among(line + i, zeros);
        if (end - i < lanes) bits &= (std::uint32_t{1} << (end - i)) - 1U;
        for (; bits != 0; bits &= bits - 1U)
            found.push_back(i + static_cast<std::size_t>(std::countr_zero(bits)));
    }
}

std::uint32_t digest_of(const float* samples) {
    std::uint32_t digest = 0;
    for (std::size_t i = 0; i < digested; ++i)
        digest = std::rotl(digest, 5) * first_factor + std::bit_cast<std::uint32_t>(samples[i]);
    return digest * second_factor;
}

} // namespace

RepeatMeter::RepeatMeter(double rate_hz)
    : reach_(static_cast<std::size_t>(reach_s * rate_hz)),
      least_(std::max(least_lag, static_cast<std::size_t>(least_repeat_s * rate_hz))),
      landmarks_(slots) {
    const int bits =
        std::clamp(static_cast<int>(std::lround(std::log2(landmark_s * rate_hz))), 1, 16);
    zeros_ = ~0U << (32 - bits); // the upper bits of a product depend on all bits of its factors
}

void RepeatMeter::look(std::span<const float> piece, Frame first) {
    if (line_first_ + static_cast<Frame>(line_.size()) != first) {
        close();
        line_.clear();
        line_first_ = first;
        next_ = std::max(next_, first);
    }
    line_.insert(line_.end(), piece.begin(), piece.end());
    extend();
    const std::size_t room = std::max<std::size_t>(digested, 17);
    const std::size_t end = line_.size() - std::min(line_.size(), room);
    find_landmarks(line_.data(), static_cast<std::size_t>(next_ - line_first_), end, zeros_, here_);
    digests_.resize(here_.size());
    for (std::size_t i = 0; i < here_.size(); ++i) {
        digests_[i] = digest_of(&line_[here_[i]]);
        __builtin_prefetch(&landmarks_[digests_[i] % slots], 1); // usually not in the cache
    }
    for (std::size_t i = 0; i < here_.size(); ++i) {
        const std::size_t at = here_[i];
        const std::uint32_t digest = digests_[i];
        const Landmark now{digest, line_first_ + static_cast<Frame>(at)};
        Landmark& before = landmarks_[digest % slots];
        const Frame lag = now.frame - before.frame;
        if (before.digest == digest && before.frame >= line_first_ &&
            lag >= static_cast<Frame>(least_lag) && lag <= static_cast<Frame>(reach_) &&
            now.frame >= std::max(told_, open_.first + open_.count))
            compare(at, static_cast<std::size_t>(lag));
        before = now;
    }
    next_ = std::max(next_, line_first_ + static_cast<Frame>(end));
    if (open_.first + open_.count < line_first_ + static_cast<Frame>(line_.size())) close();
    forget();
}

/// Drops what later landmarks can no longer be compared with.
void RepeatMeter::forget() {
    const std::size_t kept = reach_ + least_;
    if (line_.size() < 2 * kept) return;
    const std::size_t gone = line_.size() - kept;
    line_.erase(line_.begin(), line_.begin() + static_cast<std::ptrdiff_t>(gone));
    line_first_ += static_cast<Frame>(gone);
}

void RepeatMeter::compare(std::size_t at, std::size_t lag) {
    close();
    const auto told = static_cast<std::size_t>(std::max<Frame>(0, told_ - line_first_));
    std::size_t begin = at, end = at;
    while (begin > std::max(lag, told) && line_[begin - 1] == line_[begin - 1 - lag])
        --begin;
    while (end < line_.size() && line_[end] == line_[end - lag])
        ++end;
    if (end - begin < least_) return;
    std::size_t changes = 0; // a constant run is not a block
    for (std::size_t i = begin + 1; i < end; ++i)
        changes += line_[i] != line_[i - 1] ? 1U : 0U;
    if (changes < least_ / 2) return;
    open_ = {line_first_ + static_cast<Frame>(begin), static_cast<Frame>(end - begin)};
    open_lag_ = static_cast<Frame>(lag);
}

/// Extends an open block as far as it repeats.
void RepeatMeter::extend() {
    if (open_.count == 0) return;
    const auto lag = static_cast<std::size_t>(open_lag_);
    auto end = static_cast<std::size_t>(open_.first + open_.count - line_first_);
    while (end < line_.size() && line_[end] == line_[end - lag])
        ++end;
    open_.count = line_first_ + static_cast<Frame>(end) - open_.first;
}

void RepeatMeter::close() {
    if (open_.count == 0) return;
    if (open_.count <= most_times * open_lag_) found_.add(open_);
    told_ = open_.first + open_.count;
    open_.count = 0;
}

StretchList RepeatMeter::finish(Frame measured) {
    close();
    if (static_cast<double>(found_.frames) > most_repeated * static_cast<double>(measured))
        return {};
    return found_;
}

} // namespace lull
