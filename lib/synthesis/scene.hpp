// SPDX-License-Identifier: GPL-3.0-or-later
//
// A scene: a plan in which everything is drawn and scaled to its level. Its samples can be computed
// from any frame on, in blocks of any length, without a file. Exercises are written from scenes,
// and detection and location are evaluated on them.
#pragma once

#include "recording/recording.hpp"
#include "synthesis/faults.hpp"
#include "synthesis/noise_bed.hpp"
#include "synthesis/site_sounds.hpp"
#include "synthesis/sounds.hpp"
#include "synthesis/stations.hpp"

#include <map>
#include <memory>
#include <vector>

namespace lull {

/// An event of the scene.
struct SceneEvent {
    DrawnEvent drawn;
    EventKind kind = EventKind::other;
    double onset_s = 0.0; ///< first arrival on any usable channel
    double end_s = 0.0;   ///< 20 dB under its maximum on the best channel
    std::size_t best = 0; ///< channel of the largest SNR
    double snr_db = 0.0;  ///< there, measured in the mix with noise (snr.hpp)
    bool reached = true;  ///< false: the noise alone exceeded the target, or the limit was below it
    double gain = 0.0;
    std::pair<Frame, Frame> span;  ///< frames in which it is heard, with propagation
    std::vector<double> delays_s;  ///< from the source, one a channel
    std::vector<double> strikes_s; ///< of knocks: first arrivals, as in onset_s
};

struct SceneParts {
    bool noise = true, site_sounds = true, events = true, faults = true;
    bool signs = true; ///< the exercise's tone pattern and playback limit
};

class Scene {
  public:
    /// Draws everything and scales every event to its target.
    /// \throws Error(input) when a speech file cannot be used
    Scene(Plan plan, std::uint64_t seed, int variant = 0);
    ~Scene();
    Scene(const Scene&) = delete;
    Scene& operator=(const Scene&) = delete;

    [[nodiscard]] const Plan& plan() const { return plan_; }
    [[nodiscard]] const Stations& stations() const { return stations_; }
    [[nodiscard]] const Layout& layout() const { return layout_; } ///< of stations
    [[nodiscard]] Frame frames() const { return frames_; }
    [[nodiscard]] const std::vector<SceneEvent>& events() const { return events_; }

    /// Frames [first, first + count), cut at the scene's ends, all channels, full scale = 1. The
    /// same frames have the same bits, whatever was rendered before. Sequential access is fast. One
    /// thread.
    void render(Frame first, Frame count, Block& block, const SceneParts& parts = {});

    /// Power in the band of a channel's noise: every layer at its level of that moment, and hum,
    /// without single sounds.
    [[nodiscard]] double floor_power(std::size_t channel, Frame frame) const;
    /// Lists the single sounds of the site in [from_s, to_s).
    void list_site_sounds(double from_s, double to_s,
                          const std::function<void(const SiteSound&)>& each) const;

  private:
    struct Cache;
    [[nodiscard]] SceneEvent placed(const DrawnEvent& drawn);
    void place(SceneEvent& event);
    [[nodiscard]] std::vector<Path> paths_to(const SceneEvent& event) const;
    [[nodiscard]] std::vector<Heard> hear(const SceneEvent& event, double gain) const;
    [[nodiscard]] std::vector<float> noise_of(std::size_t channel, Frame first, std::size_t count);
    void add_events(Frame first, std::size_t channel, std::span<float> out);
    void make_true(Frame chunk, std::size_t channel, const SceneParts& parts, std::span<float> out);
    void make_recorded(Frame chunk, std::size_t channel, const SceneParts& parts,
                       std::span<float> out);

    Plan plan_;
    Stations stations_;
    Frame frames_;
    Layout layout_;
    NoiseBed bed_;
    SiteSounds sounds_;
    Faults faults_;
    std::vector<SceneEvent> events_;
    std::map<std::size_t, std::vector<Heard>> heard_; ///< events that sound at present
    std::unique_ptr<Cache> cache_;
};

} // namespace lull
