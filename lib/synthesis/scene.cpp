// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/scene.hpp"

#include "signal/snr.hpp"
#include "synthesis/draw.hpp"
#include "synthesis/exercise_signs.hpp"
#include "synthesis/resample.hpp"

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

/// A gust may mask a weak sound, which is then tried at so many other times.
constexpr int most_turns = 20;
constexpr double margin_s = 0.25; ///< added on both sides of an event to measure its level

Frame floor_divide(Frame a, Frame b) {
    return a >= 0 ? a / b : -((b - 1 - a) / b);
}

} // namespace

/// The last chunks, so that blocks smaller than a chunk and wrong clocks do not need to make them
/// again.
struct Scene::Cache {
    struct Chunk {
        Frame number = -1000;
        SceneParts parts;
        std::vector<float> samples;
    };
    std::vector<Chunk> recorded;               ///< one a channel
    std::vector<std::vector<Chunk>> true_time; ///< per channel, the last few
};

Scene::Scene(Plan plan, std::uint64_t seed, int variant)
    : plan_(std::move(plan)),
      stations_(plan_, Random(seed).child("hand").child(static_cast<std::uint64_t>(variant))),
      frames_(static_cast<Frame>(std::llround(plan_.duration_s * plan_.rate_hz))),
      layout_(draw_layout(stations_.plan(),
                          Random(seed).child("layout").child(static_cast<std::uint64_t>(variant)))),
      bed_(stations_.plan(), layout_,
           Random(seed).child("bed").child(static_cast<std::uint64_t>(variant))),
      sounds_(stations_.plan(), layout_,
              Random(seed).child("sounds").child(static_cast<std::uint64_t>(variant))),
      faults_(plan_, Random(seed).child("faults").child(static_cast<std::uint64_t>(variant))),
      cache_(std::make_unique<Cache>()) {
    cache_->recorded.resize(plan_.channels.size());
    cache_->true_time.resize(plan_.channels.size());
    std::vector<DrawnEvent> drawn = draw_events(plan_, seed, variant);
    for (std::size_t i = 0; i < drawn.size(); ++i) {
        SceneEvent event = placed(drawn[i]);
        for (int turn = 0; turn < most_turns && !event.reached; ++turn) {
            DrawnEvent moved = drawn[i];
            moved.time_s = another_time(plan_, drawn, i, turn);
            if (moved.time_s == drawn[i].time_s) break; // it may not be moved
            event = placed(moved);
            if (event.reached) drawn[i] = std::move(moved);
        }
        if (!event.reached) event = placed(drawn[i]);
        events_.push_back(std::move(event));
    }
    std::stable_sort(events_.begin(), events_.end(),
                     [](const auto& a, const auto& b) { return a.drawn.time_s < b.drawn.time_s; });
}

SceneEvent Scene::placed(const DrawnEvent& drawn) {
    SceneEvent event;
    event.drawn = drawn;
    event.kind = kind_of(drawn.sound);
    place(event);
    return event;
}

Scene::~Scene() = default;

/// Paths from an event to the station of each channel at that time.
std::vector<Path> Scene::paths_to(const SceneEvent& event) const {
    std::vector<Path> paths;
    for (std::size_t c = 0; c < plan_.channels.size(); ++c)
        paths.push_back(path_between(stations_.plan(), layout_, event.drawn.position_m,
                                     sounds_in_air(event.drawn.sound),
                                     stations_.at(c, event.drawn.time_s)));
    return paths;
}

std::vector<Heard> Scene::hear(const SceneEvent& event, double gain) const {
    const std::vector<Path> paths = paths_to(event);
    auto heard =
        travel(emit(event.drawn, plan_.rate_hz).samples, event.drawn.time_s, paths, plan_.rate_hz);
    if (gain != 1.0) {
        for (Heard& each : heard) {
            for (float& sample : each.samples)
                sample *= static_cast<float>(gain);
        }
    }
    return heard;
}

std::vector<float> Scene::noise_of(std::size_t channel, Frame first, std::size_t count) {
    const auto size = static_cast<Frame>(bed_.chunk_frames());
    std::vector<float> out(count), chunk(bed_.chunk_frames());
    const Frame last = first + static_cast<Frame>(count);
    const std::size_t station = stations_.at(channel, static_cast<double>(first) / plan_.rate_hz);
    for (Frame number = floor_divide(first, size); number * size < last; ++number) {
        bed_.render(number, station, chunk);
        sounds_.add(number * size, station, chunk, true);
        faults_.add_hum(channel, number * size, chunk);
        const Frame from = std::max(first, number * size), to = std::min(last, (number + 1) * size);
        std::copy(chunk.begin() + (from - number * size), chunk.begin() + (to - number * size),
                  out.begin() + (from - first));
    }
    return out;
}

double Scene::floor_power(std::size_t channel, Frame frame) const {
    const std::size_t station = stations_.at(channel, static_cast<double>(frame) / plan_.rate_hz);
    return bed_.floor_power(station, frame) + sounds_.floor_power(station, frame) +
           faults_.hum_power(channel, frame);
}

void Scene::list_site_sounds(double from_s, double to_s,
                             const std::function<void(const SiteSound&)>& each) const {
    sounds_.list(from_s, to_s, [&](SiteSound sound) {
        // The loudest station, reported as its channel.
        sound.channel = stations_.channel_of(sound.channel);
        each(sound);
    });
}

void Scene::place(SceneEvent& event) {
    const double rate_hz = plan_.rate_hz;
    const Band band = default_band(rate_hz);
    const LevelRule rule = level_rule_of(event.drawn.sound);
    const auto heard = hear(event, 1.0);
    const auto paths = paths_to(event);
    std::pair<Frame, Frame> span{frames_, 0};
    std::vector<float> best_banded;
    double best_ratio = -1.0, soonest_s = 1e9;
    for (std::size_t c = 0; c < heard.size(); ++c) {
        event.delays_s.push_back(paths[c].delay_s);
        const auto count = static_cast<Frame>(heard[c].samples.size());
        span = {std::min(span.first, heard[c].first),
                std::max(span.second, heard[c].first + count)};
        if (!faults_.usable(c)) continue;
        soonest_s = std::min(soonest_s, paths[c].delay_s);
        auto banded = in_band(heard[c].samples, rate_hz, band);
        const auto [begin, end] = extent(banded, rate_hz, 20.0);
        const double level = level_power(std::span(banded).subspan(begin, end - begin), rate_hz,
                                         LevelRule::peak_energy);
        const double peak =
            level > 0.0 ? level : level_power(banded, rate_hz, LevelRule::peak_energy);
        const double ratio = peak / floor_power(c, heard[c].first);
        if (ratio <= best_ratio) continue;
        best_ratio = ratio;
        event.best = c;
        best_banded = std::move(banded);
    }
    event.span = span;
    if (best_ratio <= 0.0) { // no channel can hear anything
        event.onset_s = event.end_s = event.drawn.time_s;
        event.reached = false;
        return;
    }
    const Heard& there = heard[event.best];
    auto [begin, end] = extent(best_banded, rate_hz, 20.0);
    const auto room = static_cast<std::size_t>(0.5 * peak_energy_window_s * rate_hz);
    if (rule == LevelRule::peak_energy) begin -= std::min(begin, room);
    end = std::min(best_banded.size(), std::max(end, begin + 2 * room) + room);
    const auto margin = static_cast<std::size_t>(margin_s * rate_hz);
    const Frame onset = there.first + static_cast<Frame>(begin);
    const auto noise =
        in_band(noise_of(event.best, onset - static_cast<Frame>(margin), end - begin + 2 * margin),
                rate_hz, band);
    const auto quiet = std::span<const float>(noise).subspan(margin, end - begin);
    const auto loud = std::span<const float>(best_banded).subspan(begin, end - begin);
    const double floor = floor_power(event.best, onset);
    const double target = floor * db_to_power(event.drawn.snr_db);
    const auto gain = gain_for_level(quiet, loud, rate_hz, rule, target);
    event.reached = gain.has_value();
    event.gain = gain.value_or(std::sqrt(target / level_power(loud, rate_hz, rule)));
    std::vector<float> mix(quiet.begin(), quiet.end());
    for (std::size_t n = 0; n < mix.size(); ++n)
        mix[n] += static_cast<float>(event.gain) * loud[n];
    event.snr_db = signal_to_noise_db(level_power(mix, rate_hz, rule), floor);
    const double ahead_s = event.delays_s[event.best] - soonest_s;
    const auto [heard_from, heard_to] = extent(best_banded, rate_hz, 20.0);
    event.onset_s =
        static_cast<double>(there.first + static_cast<Frame>(heard_from)) / rate_hz - ahead_s;
    event.end_s = static_cast<double>(there.first + static_cast<Frame>(heard_to)) / rate_hz;
    for (const double strike_s : emit(event.drawn, rate_hz).strikes_s) {
        event.strikes_s.push_back(event.drawn.time_s + soonest_s + strike_s);
    }
    if (!event.strikes_s.empty()) event.onset_s = event.strikes_s.front();
}

void Scene::add_events(Frame first, std::size_t channel, std::span<float> out) {
    const Frame end = first + static_cast<Frame>(out.size());
    // Keeps two more chunks, since channels with wrong clocks lag behind.
    std::erase_if(heard_, [&](const auto& entry) {
        const auto& span = events_[entry.first].span;
        return span.second + 4 * static_cast<Frame>(out.size()) < first ||
               span.first > end + 4 * static_cast<Frame>(out.size());
    });
    for (std::size_t i = 0; i < events_.size(); ++i) {
        const auto& span = events_[i].span;
        if (span.second <= first || span.first >= end || events_[i].gain <= 0.0) continue;
        auto found = heard_.find(i);
        if (found == heard_.end())
            found = heard_.emplace(i, hear(events_[i], events_[i].gain)).first;
        const Heard& heard = found->second[channel];
        const Frame low = std::max(first, heard.first);
        const Frame high = std::min(end, heard.first + static_cast<Frame>(heard.samples.size()));
        for (Frame n = low; n < high; ++n) {
            out[static_cast<std::size_t>(n - first)] +=
                heard.samples[static_cast<std::size_t>(n - heard.first)];
        }
    }
}

void Scene::make_true(Frame chunk, std::size_t channel, const SceneParts& parts,
                      std::span<float> out) {
    const Frame first = chunk * static_cast<Frame>(out.size());
    std::vector<float> there(out.size());
    stations_.split(channel, first, out.size(), [&](std::size_t station, auto offset, auto count) {
        std::fill(there.begin(), there.end(), 0.0F);
        if (parts.noise) bed_.render(chunk, station, there);
        if (parts.noise || parts.site_sounds)
            sounds_.add(first, station, there, !parts.site_sounds);
        const auto from = there.begin() + static_cast<std::ptrdiff_t>(offset);
        std::copy_n(from, count, out.begin() + static_cast<std::ptrdiff_t>(offset));
    });
    if (parts.events) add_events(first, channel, out);
    if (parts.noise) stations_.handle(channel, first, out);
}

void Scene::make_recorded(Frame chunk, std::size_t channel, const SceneParts& parts,
                          std::span<float> out) {
    const auto size = static_cast<Frame>(out.size());
    const Frame first = chunk * size;
    if (!parts.faults || !faults_.clock_is_wrong(channel)) {
        make_true(chunk, channel, parts, out);
    } else {
        const Frame from = static_cast<Frame>(std::floor(faults_.true_frame(channel, first))) -
                           interpolation_reach;
        const Frame to = static_cast<Frame>(std::ceil(faults_.true_frame(channel, first + size))) +
                         interpolation_reach + 1;
        std::vector<float> around(static_cast<std::size_t>(to - from));
        auto& kept = cache_->true_time[channel];
        for (Frame number = floor_divide(from, size); number * size < to; ++number) {
            auto found = std::find_if(kept.begin(), kept.end(),
                                      [&](const auto& each) { return each.number == number; });
            if (found == kept.end()) {
                if (kept.size() > 2) kept.erase(kept.begin());
                kept.push_back({number, parts, std::vector<float>(out.size())});
                make_true(number, channel, parts, kept.back().samples);
                found = kept.end() - 1;
            }
            const Frame low = std::max(from, number * size),
                        high = std::min(to, (number + 1) * size);
            std::copy(found->samples.begin() + (low - number * size),
                      found->samples.begin() + (high - number * size),
                      around.begin() + (low - from));
        }
        for (Frame n = 0; n < size; ++n) {
            out[static_cast<std::size_t>(n)] = value_between(
                around, faults_.true_frame(channel, first + n) - static_cast<double>(from));
        }
    }
    if (parts.faults) {
        faults_.add_hum(channel, first, out);
        faults_.spoil(channel, first, out);
    }
    if (parts.signs) {
        add_exercise_sign(first, frames_, plan_.rate_hz, out);
        limit_playback(out);
    }
}

void Scene::render(Frame first, Frame count, Block& block, const SceneParts& parts) {
    const auto size = static_cast<Frame>(bed_.chunk_frames());
    const Frame begin = std::clamp<Frame>(first, 0, frames_),
                end = std::clamp<Frame>(first + count, begin, frames_);
    block.first = begin;
    block.frames = end - begin;
    block.channels = static_cast<int>(plan_.channels.size());
    block.non_finite.clear();
    block.missing.clear();
    block.samples.resize(static_cast<std::size_t>(block.frames) * plan_.channels.size());
    const auto same = [&](const SceneParts& a) {
        return a.noise == parts.noise && a.site_sounds == parts.site_sounds &&
               a.events == parts.events && a.faults == parts.faults && a.signs == parts.signs;
    };
    for (std::size_t c = 0; c < plan_.channels.size(); ++c) {
        auto& kept = cache_->recorded[c];
        if (!same(kept.parts)) {
            cache_->true_time[c].clear();
            kept.number = -1000;
        }
        kept.parts = parts;
        kept.samples.resize(static_cast<std::size_t>(size));
        const auto out = block.channel(static_cast<int>(c));
        for (Frame chunk = begin / size; chunk * size < end; ++chunk) {
            if (kept.number != chunk) make_recorded(chunk, c, parts, kept.samples);
            kept.number = chunk;
            const Frame low = std::max(begin, chunk * size),
                        high = std::min(end, (chunk + 1) * size);
            std::copy(kept.samples.begin() + (low - chunk * size),
                      kept.samples.begin() + (high - chunk * size), out.begin() + (low - begin));
        }
    }
}

} // namespace lull
