// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/noise_bed.hpp"

#include "synthesis/course.hpp"
#include "synthesis/noise_shape.hpp"
#include "synthesis/snr.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

constexpr double tonal_share = 0.7; ///< share of a generator's power in the band

bool is_noise(LayerKind kind) {
    switch (kind) {
    case LayerKind::ambient:
    case LayerKind::traffic:
    case LayerKind::rain:
    case LayerKind::wind:
    case LayerKind::generator:
    case LayerKind::noise:
        return true;
    default:
        return false;
    }
}

/// One random complex number whose parts have variance 1: sums of two 16-bit numbers. Each sample
/// sums thousands of them, so the noise is still normal.
std::complex<float> random_bin(std::uint64_t bits) {
    constexpr float scale =
        2.4494897F / 65536.0F; // the variance of such a sum is 1/6 of the square of its range
    const auto part = [bits](int at) {
        return static_cast<float>(static_cast<std::int32_t>((bits >> at) & 0xffff));
    };
    return {scale * (part(0) + part(16) - 65535.0F), scale * (part(32) + part(48) - 65535.0F)};
}

} // namespace

std::size_t NoiseBed::segment_frames(double rate_hz) {
    return static_cast<std::size_t>(1) << static_cast<int>(std::lround(std::log2(rate_hz)));
}

NoiseBed::NoiseBed(const Plan& plan, const Layout& layout, Random random)
    : plan_(plan), size_(segment_frames(plan.rate_hz)), fft_(size_),
      weights_(band_power_weights(size_, plan.rate_hz, default_band(plan.rate_hz))), window_(size_),
      kept_(plan.channels.size()), bins_(size_ / 2 + 1), segment_(size_) {
    for (std::size_t n = 0; n < size_; ++n) {
        window_[n] = static_cast<float>(std::sin(std::numbers::pi * (static_cast<double>(n) + 0.5) /
                                                 static_cast<double>(size_)));
    }
    for (std::size_t i = 0; i < plan.site.size(); ++i) {
        if (is_noise(plan.site[i].kind))
            add_layer(plan.site[i], layout, random.child("layer").child(i));
    }
    add_self_noise(random.child("self"));
}

bool NoiseBed::heard_on(const SiteLayer& site, std::size_t channel) const {
    const auto& names = site.channels;
    return names.empty() ||
           std::find(names.begin(), names.end(), plan_.channels[channel].name) != names.end();
}

void NoiseBed::add_layer(const SiteLayer& site, const Layout& layout, Random random) {
    const bool machine = site.kind == LayerKind::generator;
    if (machine) add_machine(site, layout, random, tonal_share);
    Layer layer;
    layer.site = &site;
    layer.random = random;
    layer.in_band.assign(plan_.channels.size(), 0.0);
    const double share = machine ? 1.0 - tonal_share : 1.0;
    if (site.position_m) {
        add_placed(layer, site, layout, share);
    } else {
        add_around(layer, site, layout, share);
    }
    layers_.push_back(std::move(layer));
}

void NoiseBed::add_around(Layer& layer, const SiteLayer& site, const Layout& layout, double share) {
    Random drawn = layer.random.child("shape");
    const double level_db = drawn.between(site.level_db.low, site.level_db.high);
    const bool exact = site.kind == LayerKind::noise;
    for (std::size_t c = 0; c < plan_.channels.size(); ++c) {
        const bool air = plan_.channels[c].kind == ChannelKind::air;
        const double uneven_db = exact ? 0.0 : drawn.normal(),
                     tilt = exact ? 0.0 : 0.5 * drawn.normal();
        std::vector<float> power =
            exact ? third_octave_power(site.third_octaves, size_, plan_.rate_hz)
                  : layer_power(site.kind, air, tilt, weights_, size_, plan_.rate_hz);
        const double here_db = air ? site.air_level_db.value_or(level_db) : level_db;
        const double level = (exact ? 1.0 : share * db_to_power(here_db + uneven_db)) *
                             db_to_power(plan_.channels[c].gain_db) *
                             (heard_on(site, c) ? 1.0 : 0.0);
        for (std::size_t k = 0; k < power.size(); ++k) {
            const double hz = static_cast<double>(k) * plan_.rate_hz / static_cast<double>(size_);
            power[k] *=
                static_cast<float>(level * std::norm(contact_response(layout.contact[c], hz)));
        }
        layer.in_band[c] = weighted_power(power, weights_);
        layer.power.push_back(std::move(power));
    }
}

void NoiseBed::add_placed(Layer& layer, const SiteLayer& site, const Layout& layout, double share) {
    Random drawn = layer.random.child("shape");
    const double level_db = drawn.between(site.level_db.low, site.level_db.high);
    const auto power =
        site.kind == LayerKind::noise
            ? third_octave_power(site.third_octaves, size_, plan_.rate_hz)
            : layer_power(site.kind, false, 0.5 * drawn.normal(), weights_, size_, plan_.rate_hz);
    const bool in_air = site.kind == LayerKind::wind || site.kind == LayerKind::rain;
    for (std::size_t c = 0; c < plan_.channels.size(); ++c) {
        const Path path = path_between(plan_, layout, *site.position_m, in_air, c);
        auto response = direct_response(path, size_, plan_.rate_hz, path.delay_s);
        double sum = 0.0;
        for (std::size_t k = 0; k < response.size(); ++k) {
            response[k] *= heard_on(site, c) ? std::sqrt(power[k] / 4.0F) : 0.0F;
            sum += 4.0 * static_cast<double>(std::norm(response[k]) * weights_[k]);
        }
        layer.in_band[c] = sum;
        layer.response.push_back(std::move(response));
    }
    const double loudest = *std::max_element(layer.in_band.begin(), layer.in_band.end());
    const double scale = loudest > 0.0 ? share * db_to_power(level_db) / loudest : 0.0;
    for (double& level : layer.in_band)
        level *= scale;
    for (auto& response : layer.response) {
        for (auto& bin : response)
            bin *= static_cast<float>(std::sqrt(scale));
    }
}

void NoiseBed::add_machine(const SiteLayer& site, const Layout& layout, Random random,
                           double share) {
    Machine machine;
    machine.site = &site;
    machine.random = random;
    const double level_db = random.child("shape").between(site.level_db.low, site.level_db.high);
    const Random turning = random.child("turning");
    for (std::size_t c = 0; c < plan_.channels.size(); ++c) {
        const bool air = plan_.channels[c].kind == ChannelKind::air;
        Path path;
        if (site.position_m) path = path_between(plan_, layout, *site.position_m, false, c);
        ToneBank tones(site.speed_hz, 0.01, turning, c, path.delay_s,
                       std::min(1200.0, 0.4 * plan_.rate_hz));
        const double here_db =
            air && !site.position_m ? site.air_level_db.value_or(level_db) : level_db;
        tones.scale(std::sqrt(share * db_to_power(here_db) /
                              tones.weighted_power(weights_, plan_.rate_hz)));
        const double contact = std::abs(contact_response(layout.contact[c], 4.0 * site.speed_hz));
        machine.level.push_back(heard_on(site, c) ? contact * path.gain : 0.0);
        machine.tones.push_back(std::move(tones));
    }
    const double loudest = *std::max_element(machine.level.begin(), machine.level.end());
    for (std::size_t c = 0; c < machine.level.size(); ++c) {
        if (site.position_m && loudest > 0.0) machine.level[c] /= loudest;
        machine.in_band.push_back(machine.tones[c].weighted_power(weights_, plan_.rate_hz) *
                                  machine.level[c] * machine.level[c]);
    }
    machines_.push_back(std::move(machine));
}

void NoiseBed::add_self_noise(Random random) {
    Layer layer;
    layer.random = random;
    std::vector<float> white(size_ / 2 + 1, 1.0F);
    white.front() = white.back() = 0.0F;
    const double whole = weighted_power(white, weights_);
    for (const PlanChannel& channel : plan_.channels) {
        const auto level = static_cast<float>(db_to_power(channel.self_noise_db) / whole);
        std::vector<float> power = white;
        for (float& value : power)
            value *= level;
        layer.in_band.push_back(weighted_power(power, weights_));
        layer.power.push_back(std::move(power));
    }
    layers_.push_back(std::move(layer));
}

double NoiseBed::gain_db(const Layer& layer, Frame segment) const {
    if (!layer.site) return 0.0;
    const double middle_s =
        static_cast<double>(segment * static_cast<Frame>(chunk_frames())) / plan_.rate_hz;
    return layer_course_db(plan_, *layer.site, layer.random.child("course"), middle_s);
}

void NoiseBed::shape_spectrum(Frame segment, std::size_t channel, Kept& kept) const {
    std::vector<double> gains;
    for (const Layer& layer : layers_)
        gains.push_back(db_to_power(gain_db(layer, segment)));
    if (gains == kept.gains) return;
    kept.gains = gains;
    kept.amplitude.assign(size_ / 2 + 1, 0.0F);
    for (std::size_t i = 0; i < layers_.size(); ++i) {
        if (layers_[i].power.empty()) continue;
        const auto gain =
            static_cast<float>(gains[i] / 4.0); // two parts, and two sides of the spectrum
        const auto& power = layers_[i].power[channel];
        for (std::size_t k = 0; k < power.size(); ++k)
            kept.amplitude[k] += gain * power[k];
    }
    for (float& value : kept.amplitude)
        value = std::sqrt(value);
}

void NoiseBed::make_segment(Frame segment, std::size_t channel) {
    Kept& kept = kept_[channel];
    shape_spectrum(segment, channel, kept);
    const auto number = static_cast<std::uint64_t>(segment);
    const Random own = layers_.back().random.child(channel).child(number);
    for (std::size_t k = 0; k < bins_.size(); ++k)
        bins_[k] = kept.amplitude[k] * random_bin(own.at(k));
    for (std::size_t i = 0; i < layers_.size(); ++i) {
        if (layers_[i].response.empty() || kept.gains[i] < 1e-15) continue;
        const Random shared = layers_[i].random.child("noise").child(number);
        const auto gain = static_cast<float>(std::sqrt(kept.gains[i]));
        const auto& response = layers_[i].response[channel];
        for (std::size_t k = 0; k < bins_.size(); ++k) {
            const std::complex<float> a = gain * random_bin(shared.at(k)), b = response[k];
            bins_[k] += std::complex<float>(a.real() * b.real() - a.imag() * b.imag(),
                                            a.real() * b.imag() + a.imag() * b.real());
        }
    }
    bins_.front() = bins_.back() = 0.0F;
    fft_.inverse(bins_, segment_);
    for (std::size_t n = 0; n < size_; ++n)
        segment_[n] *= window_[n];
    kept.segment = segment;
    kept.half.assign(segment_.begin() + static_cast<std::ptrdiff_t>(size_ / 2), segment_.end());
}

void NoiseBed::render(Frame chunk, std::size_t channel, std::span<float> out) {
    // Chunk j lies in the second half of segment j and the first half of segment j + 1.
    if (kept_[channel].segment != chunk) make_segment(chunk, channel);
    std::copy(kept_[channel].half.begin(), kept_[channel].half.end(), out.begin());
    make_segment(chunk + 1, channel);
    for (std::size_t n = 0; n < out.size(); ++n)
        out[n] += segment_[n];
    const Frame first = chunk * static_cast<Frame>(chunk_frames());
    for (const Machine& machine : machines_) {
        if (machine.level[channel] <= 0.0) continue;
        const auto gain = [&](Frame frame) {
            const double time_s = static_cast<double>(frame) / plan_.rate_hz;
            return machine.level[channel] *
                   db_to_amplitude(layer_course_db(plan_, *machine.site,
                                                   machine.random.child("course"), time_s));
        };
        const double from = gain(first), to = gain(first + static_cast<Frame>(out.size()));
        machine.tones[channel].add(first, plan_.rate_hz, from, to, out);
    }
}

double NoiseBed::floor_power(std::size_t channel, Frame frame) const {
    const auto hop = static_cast<Frame>(chunk_frames());
    const Frame segment = frame / hop;
    const double turn =
        std::numbers::pi * static_cast<double>(frame % hop) / static_cast<double>(size_);
    const double leaving = std::cos(turn) * std::cos(turn);
    double power = 0.0;
    for (const Layer& layer : layers_) {
        power +=
            layer.in_band[channel] * (leaving * db_to_power(gain_db(layer, segment)) +
                                      (1.0 - leaving) * db_to_power(gain_db(layer, segment + 1)));
    }
    const double time_s = static_cast<double>(frame) / plan_.rate_hz;
    for (const Machine& machine : machines_) {
        power += machine.in_band[channel] *
                 db_to_power(
                     layer_course_db(plan_, *machine.site, machine.random.child("course"), time_s));
    }
    return power;
}

} // namespace lull
