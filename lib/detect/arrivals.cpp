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
#include "detect/internal/voices.hpp"

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
constexpr double sure = 0.5;              ///< what counts as heard
constexpr float heard_voice = -1.0F;      ///< log odds of a voice by what a channel hears by itself
constexpr double margin_s = 0.2;          ///< an onset moves no further when it is looked at

/// One channel's candidates as they become arrivals, each list in time order.
struct ChannelArrivals {
    std::vector<Arrival> impulses;
    std::vector<Arrival> sustained;
    std::vector<char> continues; ///< for each that lasts, whether the one before was cut there
    std::vector<Arrival> blasts; ///< looked at beside what they lie in
    std::vector<Arrival> voices;
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

  private:
    void measure() {
        for (std::size_t c = 0; c < unit_.channels.size(); ++c)
            gather(c);
        gather_voices();
        look_at_impulses();
        look_at_sustained();
    }

    [[nodiscard]] Frame frame_of(double seconds) const {
        return static_cast<Frame>(std::llround(seconds * unit_.rate_hz));
    }

    [[nodiscard]] double spectrum_time_s(const ChannelTracks& tracks, std::size_t frame) const {
        const SpectrumTrack& spectrum = tracks.spectrum;
        return static_cast<double>(spectrum.first + static_cast<Frame>(frame) * spectrum.hop) /
               unit_.rate_hz;
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
        for (const LastingStretch& stretch : candidates.stretches) {
            gather_pieces(c, stretch);
            lasting_s_.emplace_back(spectrum_time_s(tracks, stretch.begin),
                                    spectrum_time_s(tracks, stretch.end));
        }
        gather_blasts(c, tracks);
    }

    void gather_pieces(std::size_t c, const LastingStretch& stretch) {
        const ChannelTracks& tracks = unit_.channels[c];
        char continues = 0;
        for (const LastingStretch& piece : cut_at_lulls(tracks, stretch, unit_.rate_hz)) {
            Arrival arrival = sustained_from_tracks(tracks, piece, unit_.rate_hz, syllables_);
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

    /// A horn over a running machine is part of the machine's stretch: it is also looked at alone.
    void gather_blasts(std::size_t c, const ChannelTracks& tracks) {
        ChannelArrivals& found = found_[c];
        for (const LastingStretch& stretch : find_blasts(tracks.spectrum)) {
            Arrival arrival = sustained_from_tracks(tracks, stretch, unit_.rate_hz, syllables_);
            arrival.onset_s = spectrum_time_s(tracks, stretch.begin);
            arrival.end_s = spectrum_time_s(tracks, stretch.end);
            arrival.channel = static_cast<int>(c);
            const bool known = std::ranges::any_of(found.sustained, [&](const Arrival& other) {
                return std::abs(other.onset_s - arrival.onset_s) < same_sound_s &&
                       std::abs(other.end_s - arrival.end_s) < same_sound_s;
            });
            if (!known && may_begin_in_core(arrival)) found.blasts.push_back(std::move(arrival));
        }
    }

    /// A voice is told by all channels together, and arrives on those that hear it by themselves
    /// and on the one that hears it best.
    void gather_voices() {
        if (!unit_.raw) return;
        for (const VoiceStretch& voice : find_voices(unit_, std::move(lasting_s_))) {
            const auto best = static_cast<std::size_t>(
                std::max_element(voice.own.begin(), voice.own.end()) - voice.own.begin());
            for (std::size_t c = 0; c < found_.size(); ++c) {
                const ChannelTracks& tracks = unit_.channels[c];
                if (tracks.spectrum.frames() == 0) continue;
                if (voice.own[c] < heard_voice && c != best) continue;
                Arrival arrival =
                    sustained_over(tracks, {voice.onset_s, voice.end_s, voice.odds, voice.cut},
                                   unit_.rate_hz, syllables_);
                arrival.channel = static_cast<int>(c);
                arrival.kind = EventKind::voice_like;
                arrival.confidence = voice_confidence(voice.odds);
                found_[c].voices.push_back(std::move(arrival));
            }
        }
    }

    /// Judges what lasts: a horn, a voice, or something else, unless a sure voice is most of it.
    /// Where a horn and a sure voice overlap, the surer stays. Of the blasts only horns are kept.
    static void judge_lasting(ChannelArrivals& found) {
        for (std::vector<Arrival>* lasting : {&found.sustained, &found.blasts})
            for (Arrival& arrival : *lasting)
                judge_sustained(arrival);
        join_pieces(found.sustained, found.continues);
        std::erase_if(found.blasts,
                      [](const Arrival& blast) { return blast.kind != EventKind::horn; });
        std::ranges::move(found.blasts, std::back_inserter(found.sustained));
        const std::vector<Arrival> voices = found.voices;
        std::erase_if(found.voices, [&](const Arrival& voice) {
            return std::ranges::any_of(found.sustained, [&](const Arrival& other) {
                return other.kind == EventKind::horn && other.confidence >= voice.confidence &&
                       common_s(voice, other) > 0.5 * (voice.end_s - voice.onset_s);
            });
        });
        std::erase_if(found.sustained, [&](const Arrival& arrival) {
            return std::ranges::any_of(voices, [&](const Arrival& voice) {
                const double both_s = common_s(arrival, voice);
                if (voice.confidence < sure || both_s <= 0.0) return false;
                return arrival.kind == EventKind::horn
                           ? voice.confidence > arrival.confidence
                           : both_s > 0.5 * (arrival.end_s - arrival.onset_s);
            });
        });
        for (Arrival& voice : found.voices)
            explain_sustained(voice);
        std::ranges::move(found.voices, std::back_inserter(found.sustained));
        std::ranges::stable_sort(found.sustained, {}, &Arrival::onset_s);
    }

    /// Time that two sounds share; negative: they lie apart.
    static double common_s(const Arrival& a, const Arrival& b) {
        return std::min(a.end_s, b.end_s) - std::max(a.onset_s, b.onset_s);
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
                measure(*owners_[look.owner], block);
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
                owners_.push_back(&found_[c].impulses[i]);
            }
        }
        decode(std::move(looks), impulse_share, longest_impulse_look_s,
               [this](Arrival& owner, const Block& block) { measure_impulse_of(owner, block); });
    }

    void measure_impulse_of(Arrival& impulse, const Block& block) {
        const std::vector<Arrival>& all =
            found_[static_cast<std::size_t>(impulse.channel)].impulses;
        double end_s = impulse.onset_s + impulse_after_s;
        if (&impulse != &all.back()) end_s = std::min(end_s, (&impulse)[1].onset_s - 0.01);
        measure_on_waveform(impulse, block.channel(impulse.channel), block.first, end_s,
                            unit_.rate_hz, unit_.band, unit_.band_delay_s);
    }

    void look_at_sustained() {
        std::vector<Look> looks;
        owners_.clear();
        for (ChannelArrivals& found : found_)
            for (std::vector<Arrival>* lasting : {&found.sustained, &found.blasts, &found.voices})
                for (Arrival& arrival : *lasting) {
                    const double until_s =
                        std::min(arrival.end_s, arrival.onset_s + pitch_within_s);
                    const Frame to = frame_of(until_s);
                    looks.push_back({std::max<Frame>(0, frame_of(arrival.onset_s - pitch_before_s)),
                                     to, arrival.shape.score, owners_.size(), to});
                    owners_.push_back(&arrival);
                }
        decode(std::move(looks), sustained_share, pitch_before_s + pitch_within_s,
               [this](Arrival& owner, const Block& block) { measure_pitch_of(owner, block); });
    }

    void measure_pitch_of(Arrival& arrival, const Block& block) {
        const std::span<const float> all = block.channel(arrival.channel);
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
        for (Arrival& arrival : found_[c].impulses) {
            arrival.kind = EventKind::tapping;
            arrival.confidence = impulse_confidence(arrival);
            explain_impulse(arrival, tracks.spectrum.edges_hz);
        }
        judge_lasting(found_[c]);
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
    std::vector<std::pair<double, double>> lasting_s_; ///< what lasts on any channel: begin, end
    SyllabicMeter syllables_;
    std::vector<Arrival*> owners_; ///< of the looks being planned
};

} // namespace

std::vector<Arrival> find_arrivals(const UnitInput& unit) {
    if (unit.channels.empty()) return {};
    return UnitSearch(unit).run();
}

} // namespace lull
