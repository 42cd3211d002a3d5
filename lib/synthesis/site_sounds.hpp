// SPDX-License-Identifier: GPL-3.0-or-later
//
// Single sounds of a site: drips, ticks, footsteps, tools, radio, settling debris.
#pragma once

#include "synthesis/path.hpp"
#include "synthesis/snr.hpp"

#include <functional>
#include <span>
#include <vector>

namespace lull {

/// One such sound, for the truth.
struct SiteSound {
    double time_s = 0.0, end_s = 0.0;
    LayerKind kind = LayerKind::drips;
    std::size_t channel = 0; ///< where it is loudest
    Position position_m{};
};

/// Sounds lie in time slots, at most one a slot, drawn from the slot's number, so that any time can
/// be made by itself. Each layer has a few variants, made once with all their paths.
class SiteSounds {
  public:
    SiteSounds(const Plan& plan, const Layout& layout, Random random);

    /// Adds what a channel hears in frames [first, first + out.size()).
    /// \param dense_only  only the layers that count as noise
    void add(Frame first, std::size_t channel, std::span<float> out, bool dense_only = false) const;
    /// Power in the band of layers so dense that they count as noise (breakers).
    [[nodiscard]] double floor_power(std::size_t channel, Frame frame) const;
    /// Every single sound of [from_s, to_s), layer by layer. Dense layers give one for each active
    /// period.
    void list(double from_s, double to_s, const std::function<void(const SiteSound&)>& each) const;

  private:
    struct Rhythm {
        double slot_s = 1.0, jitter = 0.1, chance = 1.0;
        double bout_s = 0.0, duty = 1.0; ///< active for this share of each bout_s; 0: always
        int variants = 4;
        double spread_db = 1.5;
    };
    struct Layer {
        const SiteLayer* site = nullptr;
        Rhythm rhythm;
        Random random{0};
        std::vector<std::vector<Heard>> variants; ///< [variant][channel], started at 0 s
        std::vector<Position> places;
        std::size_t loudest = 0;
        Frame longest = 0;          ///< frames, with propagation
        std::vector<double> energy; ///< [channel] in the band, mean of variants
        [[nodiscard]] bool dense() const { return rhythm.slot_s < 0.1; }
    };
    struct Occurrence {
        Frame start = 0;
        std::size_t variant = 0;
        float gain = 1.0F;
    };

    [[nodiscard]] static Rhythm rhythm_of(const SiteLayer& site);
    void add_layer(const SiteLayer& site, const Layout& layout, Random random);
    void bring_to_level(Layer& layer, double level_db) const;
    [[nodiscard]] bool active(const Layer& layer, double time_s) const;
    [[nodiscard]] bool draw(const Layer& layer, std::int64_t slot, Occurrence& occurrence) const;

    const Plan& plan_;
    std::vector<Layer> layers_;
};

} // namespace lull
