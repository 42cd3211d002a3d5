// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/fft.hpp"

#include "error.hpp"

#include <fftw3.h>

#include <algorithm>
#include <atomic>
#include <bit>
#include <map>
#include <memory>
#include <mutex>
#include <utility>

namespace lull {

/// A direction's plan is made at its first use.
struct RealFft::Plans {
    std::atomic<fftwf_plan> forward = nullptr, inverse = nullptr;
};

namespace {

/// FFTW's planner is not thread-safe.
std::mutex& planner() {
    static std::mutex mutex;
    return mutex;
}

enum class Direction { forward, inverse };

/// FFTW ends the process when an allocation fails, so this tries an allocation first.
/// \throws std::bad_alloc
void need_memory(std::size_t samples) {
    constexpr std::size_t planner_bytes = 8U << 20U; // measured: under 1 MB for the sizes in use
    const auto tried =
        std::make_unique_for_overwrite<char[]>(4 * samples * sizeof(float) + planner_bytes);
    *static_cast<volatile char*>(tried.get()) = 0; // otherwise a compiler may remove it
}

/// Plans are made for buffers with FFTW's alignment, since only these use vector instructions.
/// Execution makes sure that every buffer has it (fft.hpp).
fftwf_plan make_plan(std::size_t size, std::size_t batch, Direction direction) {
    need_memory(size * batch);
    const int n = static_cast<int>(size), many = static_cast<int>(batch), bins = n / 2 + 1;
    float* real = fftwf_alloc_real(size * batch);
    fftwf_complex* complex = fftwf_alloc_complex(static_cast<std::size_t>(bins) * batch);
    const fftwf_plan plan =
        direction == Direction::forward
            ? fftwf_plan_many_dft_r2c(1, &n, many, real, nullptr, 1, n, complex, nullptr, 1, bins,
                                      FFTW_ESTIMATE | FFTW_PRESERVE_INPUT)
            : fftwf_plan_many_dft_c2r(1, &n, many, complex, nullptr, 1, bins, real, nullptr, 1, n,
                                      FFTW_ESTIMATE);
    fftwf_free(real);
    fftwf_free(complex);
    if (plan == nullptr) throw_output("", "no plan for a transform of this size could be made", "");
    return plan;
}

fftwf_plan plan_of(std::atomic<fftwf_plan>& place, std::size_t size, std::size_t batch,
                   Direction direction) {
    if (const fftwf_plan known = place.load(std::memory_order_acquire)) return known;
    const std::scoped_lock lock(planner());
    if (place.load(std::memory_order_relaxed) == nullptr)
        place.store(make_plan(size, batch, direction), std::memory_order_release);
    return place.load(std::memory_order_relaxed);
}

} // namespace

std::size_t fast_size(std::size_t least) {
    for (std::size_t n = least + least % 2;; n += 2) {
        std::size_t rest = n;
        for (const std::size_t factor : {2U, 3U, 5U, 7U})
            while (rest > 1 && rest % factor == 0)
                rest /= factor;
        if (n > 0 && rest == 1) return n;
    }
}

std::size_t shared_size(std::size_t least) {
    if (least <= 8) return 8;
    const std::size_t quarter = std::bit_ceil(least) / 8;
    return (least + quarter - 1) / quarter * quarter;
}

RealFft::RealFft(std::size_t size, std::size_t batch) : size_(size), batch_(batch) {
    // Never destroyed: a thread may still transform while the process ends.
    static auto& all = *new std::map<std::pair<std::size_t, std::size_t>, Plans>;
    const std::scoped_lock lock(planner());
    plans_ = &all[{size, batch}];
}

namespace {

bool aligned(const void* buffer) {
    return fftwf_alignment_of(static_cast<float*>(const_cast<void*>(buffer))) == 0;
}

} // namespace

void RealFft::forward(std::span<const float> in, std::span<std::complex<float>> out) const {
    // vectors are aligned to 16 bytes, as FFTW needs; spans into them need not be
    std::vector<float> real;
    if (!aligned(in.data())) {
        real.assign(in.begin(), in.end());
        in = real;
    }
    std::vector<std::complex<float>> spectrum;
    const bool direct = aligned(out.data());
    if (!direct) spectrum.resize(batch_ * bins());
    auto* target = reinterpret_cast<fftwf_complex*>(direct ? out.data() : spectrum.data());
    fftwf_execute_dft_r2c(plan_of(plans_->forward, size_, batch_, Direction::forward),
                          const_cast<float*>(in.data()), target);
    if (!direct) std::ranges::copy(spectrum, out.begin());
}

void RealFft::inverse(std::span<std::complex<float>> in, std::span<float> out) const {
    std::vector<std::complex<float>> spectrum;
    if (!aligned(in.data())) {
        spectrum.assign(in.begin(), in.end());
        in = spectrum;
    }
    std::vector<float> real;
    const bool direct = aligned(out.data());
    if (!direct) real.resize(batch_ * size_);
    fftwf_execute_dft_c2r(plan_of(plans_->inverse, size_, batch_, Direction::inverse),
                          reinterpret_cast<fftwf_complex*>(in.data()),
                          direct ? out.data() : real.data());
    if (!direct) std::ranges::copy(real, out.begin());
}

} // namespace lull
