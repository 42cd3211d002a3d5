// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/fft.hpp"

#include "error.hpp"

#include <fftw3.h>

#include <algorithm>
#include <map>
#include <mutex>
#include <utility>

namespace lull {
namespace {

struct Plans {
    fftwf_plan forward = nullptr, inverse = nullptr;
};

/// Plans are made for buffers on FFTW's own alignment, since only these run on vector instructions;
/// execution sees to it that every buffer is so (fft.hpp).
Plans make_plans(std::size_t size, std::size_t batch) {
    const int n = static_cast<int>(size), many = static_cast<int>(batch), bins = n / 2 + 1;
    float* real = fftwf_alloc_real(size * batch);
    fftwf_complex* complex = fftwf_alloc_complex(static_cast<std::size_t>(bins) * batch);
    Plans plans;
    plans.forward = fftwf_plan_many_dft_r2c(1, &n, many, real, nullptr, 1, n, complex, nullptr, 1,
                                            bins, FFTW_ESTIMATE | FFTW_PRESERVE_INPUT);
    plans.inverse = fftwf_plan_many_dft_c2r(1, &n, many, complex, nullptr, 1, bins, real, nullptr,
                                            1, n, FFTW_ESTIMATE);
    fftwf_free(real);
    fftwf_free(complex);
    if (plans.forward == nullptr || plans.inverse == nullptr)
        throw_output("", "no plan for a transform of this size could be made", "");
    return plans;
}

const Plans& plans_for(std::size_t size, std::size_t batch) {
    static std::mutex mutex;
    // Never taken down: a thread may still transform while the process ends.
    static auto& all = *new std::map<std::pair<std::size_t, std::size_t>, Plans>;
    const std::scoped_lock lock(mutex);
    auto [place, is_new] = all.try_emplace({size, batch});
    if (is_new) place->second = make_plans(size, batch);
    return place->second;
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

RealFft::RealFft(std::size_t size, std::size_t batch) : size_(size), batch_(batch) {
    const Plans& plans = plans_for(size, batch);
    forward_ = plans.forward;
    inverse_ = plans.inverse;
}

namespace {

bool aligned(const void* buffer) {
    return fftwf_alignment_of(static_cast<float*>(const_cast<void*>(buffer))) == 0;
}

} // namespace

void RealFft::forward(std::span<const float> in, std::span<std::complex<float>> out) const {
    std::vector<float> real; // vectors lie on 16 bytes, as FFTW wants; spans into them need not
    if (!aligned(in.data())) {
        real.assign(in.begin(), in.end());
        in = real;
    }
    std::vector<std::complex<float>> spectrum;
    const bool direct = aligned(out.data());
    if (!direct) spectrum.resize(batch_ * bins());
    auto* target = reinterpret_cast<fftwf_complex*>(direct ? out.data() : spectrum.data());
    fftwf_execute_dft_r2c(forward_, const_cast<float*>(in.data()), target);
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
    fftwf_execute_dft_c2r(inverse_, reinterpret_cast<fftwf_complex*>(in.data()),
                          direct ? out.data() : real.data());
    if (!direct) std::ranges::copy(real, out.begin());
}

} // namespace lull
