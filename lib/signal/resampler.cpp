// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/resampler.hpp"

#include <cmath>
#include <new>
#include <soxr.h>

namespace lull {

Resampler::Resampler(double from_hz, double to_hz) : ratio_(to_hz / from_hz) {
    if (from_hz == to_hz) return;
    const soxr_io_spec_t floats = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
    const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_MQ, 0);
    const soxr_runtime_spec_t one_thread = soxr_runtime_spec(1);
    soxr_error_t fault = nullptr;
    made_.reset(soxr_create(from_hz, to_hz, 1, &fault, &floats, &quality, &one_thread));
    if (!made_ || fault != nullptr) throw std::bad_alloc();
}

void Resampler::push(std::span<const float> samples, std::vector<float>& to) {
    if (!made_)
        to.insert(to.end(), samples.begin(), samples.end());
    else if (!samples.empty())
        process(samples.data(), samples.size(), to);
}

void Resampler::finish(std::vector<float>& to) {
    if (made_) process(nullptr, 0, to);
}

void Resampler::process(const float* samples, std::size_t count, std::vector<float>& to) {
    // Room for the output of the samples, and for what the filter still holds back.
    constexpr std::size_t held_back = 8192;
    const std::size_t before = to.size();
    to.resize(before + held_back +
              static_cast<std::size_t>(std::ceil(static_cast<double>(count) * ratio_)));
    std::size_t used = 0;
    std::size_t made = 0;
    if (soxr_process(made_.get(), samples, count, &used, to.data() + before, to.size() - before,
                     &made) != nullptr)
        throw std::bad_alloc();
    to.resize(before + made);
}

void Resampler::End::operator()(soxr* made) const {
    soxr_delete(made);
}

} // namespace lull
