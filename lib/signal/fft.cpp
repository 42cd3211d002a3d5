// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/fft.hpp"

#include "error.hpp"

#include <fftw3.h>

#include <map>
#include <mutex>
#include <utility>

namespace lull {
namespace {

struct Plans {
    fftwf_plan forward = nullptr, inverse = nullptr;
};

/// FFTW_UNALIGNED lets one plan serve any buffers: the choice of code, and so the last bits of the
/// result, then does not depend on where a vector happened to be allocated.
Plans make_plans(std::size_t size, std::size_t batch) {
    const int n = static_cast<int>(size), many = static_cast<int>(batch), bins = n / 2 + 1;
    std::vector<float> real(size * batch);
    std::vector<std::complex<float>> spectrum(static_cast<std::size_t>(bins) * batch);
    auto* complex = reinterpret_cast<fftwf_complex*>(spectrum.data());
    Plans plans;
    plans.forward =
        fftwf_plan_many_dft_r2c(1, &n, many, real.data(), nullptr, 1, n, complex, nullptr, 1, bins,
                                FFTW_ESTIMATE | FFTW_UNALIGNED | FFTW_PRESERVE_INPUT);
    plans.inverse = fftwf_plan_many_dft_c2r(1, &n, many, complex, nullptr, 1, bins, real.data(), nullptr,
                                            1, n, FFTW_ESTIMATE | FFTW_UNALIGNED);
    if (plans.forward == nullptr || plans.inverse == nullptr)
        throw_output("", "no plan for a transform of this size could be made", "");
    return plans;
}

const Plans& plans_for(std::size_t size, std::size_t batch) {
    static std::mutex mutex;
    static std::map<std::pair<std::size_t, std::size_t>, Plans> all; // lives as long as the process
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
            while (rest > 1 && rest % factor == 0) rest /= factor;
        if (n > 0 && rest == 1) return n;
    }
}

RealFft::RealFft(std::size_t size, std::size_t batch) : size_(size), batch_(batch) {
    const Plans& plans = plans_for(size, batch);
    forward_ = plans.forward;
    inverse_ = plans.inverse;
}

void RealFft::forward(std::span<const float> in, std::span<std::complex<float>> out) const {
    fftwf_execute_dft_r2c(forward_, const_cast<float*>(in.data()),
                          reinterpret_cast<fftwf_complex*>(out.data()));
}

void RealFft::inverse(std::span<std::complex<float>> in, std::span<float> out) const {
    fftwf_execute_dft_c2r(inverse_, reinterpret_cast<fftwf_complex*>(in.data()), out.data());
}

} // namespace lull
