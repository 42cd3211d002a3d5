// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/arrivals.hpp"

#include "detect/confidence.hpp"
#include "detect/internal/blasts.hpp"
#include "detect/internal/candidates.hpp"
#include "detect/internal/impulse.hpp"
#include "detect/internal/looks.hpp"
#include "detect/internal/overlap.hpp"
#include "detect/internal/pieces.hpp"
#include "detect/internal/pitch.hpp"
#include "detect/internal/rarity.hpp"
#include "detect/internal/sustained.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <tuple>

namespace lull {

namespace {

constexpr double impulse_share = 0.5;   ///< of the unit that is decoded again for impulses
constexpr double sustained_share = 0.6; ///< and for lasting sounds
constexpr double longest_impulse_look_s = 4.0;
constexpr double pitch_before_s = 0.5;    ///< of noise before a lasting sound
constexpr double pitch_within_s = 3.0;    ///< of the sound itself: enough to tell what it is
constexpr double least_confidence = 0.02; ///< fainter ones are not worth remembering
constexpr double same_sound_s = 0.25;     ///< between ends of a blast and of a stretch: one sound
constexpr double sure_voice = 0.5;        ///< what counts as heard
constexpr double margin_s = 0.2;          ///< an onset moves no further when it is looked at

/// One channel's candidates as they become arrivals.
struct ChannelArrivals {
    std::vector<Arrival> impulses;  ///< in time order
    std::vector<Arrival> sustained; ///< in time order
    std::vector<char> continues;    ///< for each, whether the one before was cut there
    std::size_t blasts = 0; ///< at the end of `sustained`: looked at beside what they lie in
};

class UnitSearch {
  public:
    explicit UnitSearch(const UnitInput& unit) : unit_(unit), found_(unit.channels.size()) {}

    std::vector<Arrival> run() {
        measure();
        std::vector<Arrival> all;
        for (std::size_t c = 0; c < found_.size(); ++c)
            finish(c, all);
        std::sort(all.begin(), all.end(), [](const Arrival& a, const Arrival& b) {
            return std::tie(a.onset_s, a.channel) < std::tie(b.onset_s, b.channel);
        });
        return all;
    }

    /// Each piece of what lasts, measured and not yet judged.
    std::vector<Arrival> pieces() {
        measure();
        std::vector<Arrival> all;
        for (ChannelArrivals& found : found_) {
            compare_with_impulses(found.impulses, found.sustained);
            all.insert(all.end(), found.sustained.begin(), found.sustained.end());
        }
        return all;
    }

  private:
    void measure() {
        for (std::size_t c = 0; c < unit_.channels.size(); ++c)
            gather(c);
        look_at_impulses();
        look_at_sustained();
    }

    [[nodiscard]] Frame frame_of(double seconds) const {
        return static_cast<Frame>(std::llround(seconds * unit_.rate_hz));
    }

    [[nodiscard]] bool may_begin_in_core(const Arrival& arrival) const {
        const Frame margin = frame_of(margin_s);
        const Frame onset = frame_of(arrival.onset_s);
        return onset >= unit_.core_begin - margin && onset < unit_.core_end + margin;
    }

    void gather(std::size_t c) {
        const ChannelTracks& tracks = unit_.channels[c];
        if (tracks.spectrum.frames() == 0) return;
        const Candidates candidates = find_candidates(tracks, unit_.rate_hz);
        // Impulses outside the core are kept as well: they explain, or are explained by, what
        // lasts across its borders.
        for (const Instant& instant : candidates.instants) {
            found_[c].impulses.push_back(impulse_from_tracks(tracks, instant, unit_.rate_hz));
            found_[c].impulses.back().channel = static_cast<int>(c);
        }
        for (const LastingStretch& stretch : candidates.stretches)
            gather_pieces(c, stretch);
        gather_blasts(c, tracks);
    }

    void gather_pieces(std::size_t c, const LastingStretch& stretch) {
        const ChannelTracks& tracks = unit_.channels[c];
        char continues = 0;
        for (const LastingStretch& piece : cut_at_lulls(tracks, stretch, unit_.rate_hz)) {
            Arrival arrival = sustained_from_tracks(tracks, piece, unit_.rate_hz);
            const Frame margin = frame_of(margin_s);
            if (frame_of(arrival.end_s) < unit_.core_begin - margin ||
                frame_of(arrival.onset_s) >= unit_.core_end + margin)
                continue;
            arrival.channel = static_cast<int>(c);
            found_[c].sustained.push_back(std::move(arrival));
            found_[c].continues.push_back(continues);
            continues = 1;
        }
    }

    /// A horn or a call over a running machine is part of the machine's stretch: it is also looked
    /// at alone.
    void gather_blasts(std::size_t c, const ChannelTracks& tracks) {
        ChannelArrivals& found = found_[c];
        std::vector<Arrival> blasts;
        for (const LastingStretch& stretch : find_blasts(tracks.spectrum)) {
            Arrival arrival = sustained_from_tracks(tracks, stretch, unit_.rate_hz);
            const SpectrumTrack& spectrum = tracks.spectrum;
            const auto time_s = [&](std::size_t i) {
                return static_cast<double>(spectrum.first + static_cast<Frame>(i) * spectrum.hop) /
                       unit_.rate_hz;
            };
            arrival.onset_s = time_s(stretch.begin);
            arrival.end_s = time_s(stretch.end);
            arrival.channel = static_cast<int>(c);
            const bool known = std::ranges::any_of(found.sustained, [&](const Arrival& other) {
                return std::abs(other.onset_s - arrival.onset_s) < same_sound_s &&
                       std::abs(other.end_s - arrival.end_s) < same_sound_s;
            });
            if (!known && may_begin_in_core(arrival)) blasts.push_back(std::move(arrival));
        }
        found.blasts = blasts.size();
        std::ranges::move(blasts, std::back_inserter(found.sustained));
    }

    /// Judges the lasting sounds, and leaves out the blasts that are no horns and tell of no voice
    /// that was not heard without them: a vowel within a voice is as steady as a blast.
    void judge_lasting(ChannelArrivals& found, ChannelKind kind) {
        const auto first_blast = found.sustained.end() - static_cast<std::ptrdiff_t>(found.blasts);
        std::vector<Arrival> blasts(std::make_move_iterator(first_blast),
                                    std::make_move_iterator(found.sustained.end()));
        found.sustained.erase(first_blast, found.sustained.end());
        for (std::vector<Arrival>* lasting : {&found.sustained, &blasts}) {
            compare_with_impulses(found.impulses, *lasting);
            for (Arrival& arrival : *lasting)
                judge_sustained(arrival, kind);
        }
        join_pieces(found.sustained, found.continues);
        keep_telling(blasts, found.sustained);
        std::ranges::move(blasts, std::back_inserter(found.sustained));
        std::ranges::stable_sort(found.sustained, {}, &Arrival::onset_s);
    }

    /// Of the blasts, the horns outside voices, and the surest of those that are surely voices
    /// where none was sure.
    static void keep_telling(std::vector<Arrival>& blasts, const std::vector<Arrival>& sustained) {
        const auto in_voice = [](const Arrival& blast, const std::vector<Arrival>& others,
                                 double least) {
            return std::ranges::any_of(others, [&](const Arrival& other) {
                return other.kind == EventKind::voice_like && other.confidence >= least &&
                       other.onset_s < blast.end_s && other.end_s > blast.onset_s;
            });
        };
        std::ranges::stable_sort(blasts, std::ranges::greater(), &Arrival::confidence);
        std::vector<Arrival> kept;
        for (Arrival& blast : blasts) {
            const bool horn = blast.kind == EventKind::horn && !in_voice(blast, sustained, 0.0);
            const bool voice =
                blast.kind == EventKind::voice_like && blast.confidence >= sure_voice &&
                !in_voice(blast, sustained, sure_voice) && !in_voice(blast, kept, sure_voice);
            if (horn || voice) kept.push_back(std::move(blast));
        }
        blasts = std::move(kept);
    }

    [[nodiscard]] Frame most_frames(double share) const {
        const SpectrumTrack& any = unit_.channels.front().spectrum;
        return static_cast<Frame>(share * static_cast<double>(any.frames()) * any.hop);
    }

    /// Decodes what is granted and hands each look's waveform to `measure`.
    template <class Measure>
    void decode(std::vector<Look> looks, double share, double longest_s, Measure measure) {
        if (looks.empty() || !unit_.band_passed) return;
        for (const LookGroup& group :
             plan_looks(std::move(looks), most_frames(share), frame_of(longest_s), unit_.rate_hz)) {
            const Block& block = unit_.band_passed(group.from, group.to - group.from);
            if (block.frames == 0) continue;
            for (const Look& look : group.looks)
                measure(owners_[look.owner], block);
        }
    }

    void look_at_impulses() {
        std::vector<Look> looks;
        owners_.clear();
        for (std::size_t c = 0; c < found_.size(); ++c) {
            const std::vector<double> rare = rarity(found_[c].impulses);
            for (std::size_t i = 0; i < found_[c].impulses.size(); ++i) {
                if (!may_begin_in_core(found_[c].impulses[i])) continue;
                const double onset_s = found_[c].impulses[i].onset_s;
                looks.push_back({std::max<Frame>(0, frame_of(onset_s - impulse_before_s)),
                                 frame_of(onset_s + impulse_after_s), rare[i], owners_.size(),
                                 frame_of(onset_s + impulse_least_after_s)});
                owners_.emplace_back(c, i);
            }
        }
        decode(
            std::move(looks), impulse_share, longest_impulse_look_s,
            [this](const Owner& owner, const Block& block) { measure_impulse_of(owner, block); });
    }

    using Owner = std::pair<std::size_t, std::size_t>; ///< channel, index

    void measure_impulse_of(const Owner& owner, const Block& block) {
        std::vector<Arrival>& impulses = found_[owner.first].impulses;
        double end_s = impulses[owner.second].onset_s + impulse_after_s;
        if (owner.second + 1 < impulses.size())
            end_s = std::min(end_s, impulses[owner.second + 1].onset_s - 0.01);
        measure_on_waveform(impulses[owner.second], block.channel(static_cast<int>(owner.first)),
                            block.first, end_s, unit_.rate_hz, unit_.band, unit_.band_delay_s);
    }

    void look_at_sustained() {
        std::vector<Look> looks;
        owners_.clear();
        for (std::size_t c = 0; c < found_.size(); ++c) {
            for (std::size_t i = 0; i < found_[c].sustained.size(); ++i) {
                const Arrival& arrival = found_[c].sustained[i];
                const double until_s = std::min(arrival.end_s, arrival.onset_s + pitch_within_s);
                const Frame to = frame_of(until_s);
                looks.push_back({std::max<Frame>(0, frame_of(arrival.onset_s - pitch_before_s)), to,
                                 arrival.shape.score, owners_.size(), to});
                owners_.emplace_back(c, i);
            }
        }
        decode(std::move(looks), sustained_share, pitch_before_s + pitch_within_s,
               [this](const Owner& owner, const Block& block) { measure_pitch_of(owner, block); });
    }

    void measure_pitch_of(const Owner& owner, const Block& block) {
        Arrival& arrival = found_[owner.first].sustained[owner.second];
        const std::span<const float> all = block.channel(static_cast<int>(owner.first));
        const auto index = [&](double seconds) {
            return static_cast<std::size_t>(
                std::clamp<Frame>(frame_of(seconds) - block.first, 0, block.frames));
        };
        const std::size_t before = index(arrival.onset_s - pitch_before_s);
        const std::size_t begin = index(arrival.onset_s);
        const std::size_t end = index(std::min(arrival.end_s, arrival.onset_s + pitch_within_s));
        if (end <= begin) return;
        take_pitch(arrival, measure_pitch(all.subspan(begin, end - begin),
                                          all.subspan(before, begin - before), unit_.rate_hz));
    }

    void finish(std::size_t c, std::vector<Arrival>& all) {
        const ChannelTracks& tracks = unit_.channels[c];
        const ChannelKind kind = tracks.channel ? tracks.channel->kind : ChannelKind::unknown;
        for (Arrival& arrival : found_[c].impulses) {
            arrival.kind = EventKind::tapping;
            arrival.confidence = impulse_confidence(arrival);
            explain_impulse(arrival, tracks.spectrum.edges_hz);
        }
        judge_lasting(found_[c], kind);
        settle_overlaps(found_[c].impulses, found_[c].sustained);
        for (std::vector<Arrival>* kinds : {&found_[c].impulses, &found_[c].sustained}) {
            for (Arrival& arrival : *kinds) {
                const Frame onset = frame_of(arrival.onset_s);
                const bool in_core = onset >= unit_.core_begin && onset < unit_.core_end;
                if (in_core && arrival.confidence >= least_confidence)
                    all.push_back(std::move(arrival));
            }
        }
    }

    const UnitInput& unit_;
    std::vector<ChannelArrivals> found_;
    std::vector<Owner> owners_; ///< of the looks being planned
};

} // namespace

std::vector<Arrival> find_arrivals(const UnitInput& unit) {
    if (unit.channels.empty()) return {};
    return UnitSearch(unit).run();
}

std::vector<Arrival> measure_lasting(const UnitInput& unit) {
    if (unit.channels.empty()) return {};
    return UnitSearch(unit).pieces();
}

} // namespace lull
