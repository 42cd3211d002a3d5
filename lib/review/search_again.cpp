// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/search_again.hpp"

#include "detect/repeats.hpp"
#include "recording/units.hpp"
#include "review/stretch.hpp"
#include "review/thin_reader.hpp"
#include "review/unit_pass.hpp"
#include "review/work.hpp"
#include "synthesis/exercise_signs.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

namespace lull {
namespace {

constexpr double heard_score = 3.5; ///< of a channel on which a repeat counts as heard

/// A stream of one's own, as it is and band-passed, whole and thinned out.
struct Readers {
    Readers(const Recording& recording, const Sections& band_pass)
        : stream(recording.open()), raw(*stream, {}, recording.rate_hz),
          banded(*stream, band_pass, recording.rate_hz),
          thin(raw, static_cast<int>(recording.channels.size()), recording.rate_hz),
          thin_banded(banded, static_cast<int>(recording.channels.size()), recording.rate_hz) {}
    std::unique_ptr<Stream> stream;
    StretchReader raw, banded;
    ThinReader thin, thin_banded;
};

/// Searches units on one thread.
class UnitSearcher {
  public:
    UnitSearcher(const Recording& recording, const Analysis& analysis, const Sections& band_pass,
                 std::span<const TapTemplate> templates)
        : recording_(&recording), analysis_(&analysis), templates_(templates),
          readers_(recording, band_pass), search_(templates, band_pass, recording.rate_hz) {}

    std::vector<Repeat> run(const Unit& unit) {
        const auto factor = static_cast<Frame>(readers_.thin.thinner().factor());
        std::vector<Repeat> repeats;
        for (Match& match : search_.find(
                 (unit.core_begin + factor - 1) / factor, (unit.core_end + factor - 1) / factor,
                 readers_.thin.as_function(), readers_.thin_banded.as_function(),
                 [this](std::size_t of, double onset_s) {
                     return own_tap(templates_[of], analysis_->events, onset_s);
                 })) {
            Repeat repeat{std::move(match), {}};
            if (!known_impulse(analysis_->events, repeat.match.onset_s)) measure(repeat);
            repeats.push_back(std::move(repeat));
        }
        return repeats;
    }

  private:
    void measure(Repeat& repeat) {
        const TapTemplate& like = templates_[repeat.match.of];
        const double rate_hz = recording_->rate_hz;
        const auto first = static_cast<Frame>(std::floor((repeat.match.onset_s - 0.01) * rate_hz));
        const Block& block = readers_.banded.read(
            first, static_cast<Frame>((template_longest_s + 2.0 * repeat_length_s) * rate_hz));
        const std::vector<double>& scores = repeat.match.channel_score;
        const auto best = std::ranges::max_element(scores) - scores.begin();
        for (std::size_t c = 0; c < scores.size(); ++c) {
            const bool is_best = static_cast<std::ptrdiff_t>(c) == best;
            if (!is_best && (!like.delay_s[c] || scores[c] < heard_score)) continue;
            const double onset_s = repeat.match.onset_s + like.delay_s[c].value_or(0.0);
            const double floor =
                analysis_->courses[c].floor_at(static_cast<Frame>(onset_s * rate_hz));
            const auto at = static_cast<Frame>(std::llround(onset_s * rate_hz)) - block.first;
            if (at < 0 || at >= block.frames) continue;
            Arrival arrival =
                repeat_arrival(block.channel(static_cast<int>(c)), static_cast<std::size_t>(at),
                               onset_s, scores[c], floor, rate_hz);
            arrival.channel = static_cast<int>(c);
            repeat.arrivals.push_back(std::move(arrival));
        }
    }

    const Recording* recording_;
    const Analysis* analysis_;
    std::span<const TapTemplate> templates_;
    Readers readers_;
    TemplateSearch search_;
};

/// Of the clear series, as many templates as are wanted that sound different.
std::vector<TapTemplate> templates_of(const Analysis& analysis, const Recording& recording,
                                      const Sections& band_pass) {
    std::vector<TapTemplate> templates;
    const std::vector<Series> clear = clear_series(analysis.series, analysis.events);
    if (clear.empty()) return templates;
    Readers readers(recording, band_pass);
    const StretchOf banded = readers.thin_banded.as_function();
    for (const Series& one : clear) {
        const auto same = std::ranges::find_if(templates, [&](const TapTemplate& like) {
            return likeness(like, one, analysis.events, banded) >= same_sound;
        });
        if (same != templates.end()) {
            same->alike.push_back(one.number);
        } else if (templates.size() < most_templates) {
            auto made =
                make_template(one, analysis.events, static_cast<int>(recording.channels.size()),
                              readers.thin.thinner().rate_hz(), analysis.settings.band, banded);
            if (made) templates.push_back(std::move(*made));
        }
    }
    return templates;
}

/// Of matches of several templates at one place, and of two units at their border, the strongest.
void keep_strongest(std::vector<Repeat>& repeats) {
    std::vector<Repeat> kept;
    for (Repeat& repeat : repeats) {
        if (kept.empty() || repeat.match.onset_s > kept.back().match.onset_s + 2.0 * same_tap_s)
            kept.push_back(std::move(repeat));
        else if (repeat.match.score > kept.back().match.score)
            kept.back() = std::move(repeat);
    }
    repeats = std::move(kept);
}

} // namespace

void search_again(Analysis& analysis, const Recording& recording, int jobs,
                  const ProgressSink& progress) {
    const Sections band_pass = analysis_filter(analysis.settings.band, recording.rate_hz);
    const std::vector<TapTemplate> templates = templates_of(analysis, recording, band_pass);
    if (templates.empty()) return;
    const std::vector<Unit> units = plan_units(recording.frames, recording.rate_hz,
                                               analysis.settings.from, analysis.settings.to);
    const double length_s = recording.seconds(analysis.settings.to - analysis.settings.from);
    ProgressState state{"searching again", 0.0, length_s, true};
    std::vector<Repeat> repeats;
    OrderedWork<std::vector<Repeat>>::run(
        units.size(), jobs,
        [&]() -> OrderedWork<std::vector<Repeat>>::Piece {
            auto searcher =
                std::make_shared<UnitSearcher>(recording, analysis, band_pass, templates);
            return [searcher, &units](std::size_t number, const std::atomic<bool>&) {
                return searcher->run(units[number]);
            };
        },
        [&](std::size_t number, std::vector<Repeat>&& found) {
            repeats.insert(repeats.end(), std::make_move_iterator(found.begin()),
                           std::make_move_iterator(found.end()));
            state.done_s += recording.seconds(units[number].core_end - units[number].core_begin);
        },
        [&] { progress(state); });
    std::ranges::stable_sort(repeats, {}, [](const Repeat& one) { return one.match.onset_s; });
    std::erase_if(repeats, [&recording](const Repeat& repeat) {
        return recording.exercise &&
               within_exercise_sign(repeat.match.onset_s, recording.duration_s());
    });
    keep_strongest(repeats);
    add_repeats(analysis.events, analysis.series, templates, std::move(repeats), length_s / 60.0);
}

} // namespace lull
