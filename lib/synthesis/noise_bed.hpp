// SPDX-License-Identifier: GPL-3.0-or-later
//
// Continuous noise: every layer except those made of single sounds.
#pragma once

#include "signal/fft.hpp"
#include "synthesis/path.hpp"
#include "synthesis/tone_bank.hpp"

#include <memory>
#include <span>
#include <vector>

namespace lull {

/// Makes noise in segments of about a second. Each segment is a random spectrum with the layers'
/// power; segments overlap by half under a sine window whose squares add up to 1. A segment depends
/// only on its number, so any time can be made by itself. Layers with a place are coherent: each
/// channel hears the same noise along its own path.
class NoiseBed {
  public:
    /// \param weights  of the analysis band, band_power_weights(segment_frames(rate), ...)
    NoiseBed(const Plan& plan, const Layout& layout, Random random);

    [[nodiscard]] static std::size_t segment_frames(double rate_hz);
    [[nodiscard]] std::size_t chunk_frames() const { return size_ / 2; }

    /// Chunk number `chunk` (from 0) of one channel. out has chunk_frames().
    void render(Frame chunk, std::size_t channel, std::span<float> out);
    /// Mean power in the band at a frame, as an ensemble average of the noise.
    [[nodiscard]] double floor_power(std::size_t channel, Frame frame) const;

  private:
    struct Layer {
        const SiteLayer* site = nullptr; ///< null: self noise
        Random random{0};
        std::vector<std::vector<float>> power; ///< [channel][bin], layers without a place
        std::vector<std::vector<std::complex<float>>>
            response;                ///< [channel][bin], layers with a place
        std::vector<double> in_band; ///< [channel]
    };
    struct Machine {
        const SiteLayer* site = nullptr;
        Random random{0};
        std::vector<ToneBank> tones; ///< one a channel
        std::vector<double> in_band;
        std::vector<double> level; ///< one a channel; 0: not heard
    };
    struct Kept { ///< second half of the last segment, and the spectrum of its layers
        Frame segment = -2;
        std::vector<float> half;
        std::vector<double> gains;
        std::vector<float> amplitude;
    };

    void add_layer(const SiteLayer& site, const Layout& layout, Random random);
    void add_placed(Layer& layer, const SiteLayer& site, const Layout& layout, double share);
    void add_around(Layer& layer, const SiteLayer& site, const Layout& layout, double share);
    void add_machine(const SiteLayer& site, const Layout& layout, Random random, double share);
    void add_self_noise(Random random);
    [[nodiscard]] bool heard_on(const SiteLayer& site, std::size_t channel) const;
    [[nodiscard]] double gain_db(const Layer& layer, Frame segment) const;
    void make_segment(Frame segment, std::size_t channel);
    void shape_spectrum(Frame segment, std::size_t channel, Kept& kept) const;

    const Plan& plan_;
    std::size_t size_;
    RealFft fft_;
    std::vector<float> weights_, window_;
    std::vector<Layer> layers_;
    std::vector<Machine> machines_;
    std::vector<Kept> kept_; ///< one a channel
    std::vector<std::complex<float>> bins_;
    std::vector<float> segment_;
};

} // namespace lull
