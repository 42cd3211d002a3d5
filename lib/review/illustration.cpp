// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/illustration.hpp"

#include "report/pictures/spectrogram.hpp"
#include "report/report_data.hpp"
#include "review/stretch.hpp"
#include "review/work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <memory>
#include <set>
#include <tuple>
#include <utility>

namespace lull {
namespace {

constexpr double picture_lead_s = 0.5, picture_trail_s = 1.0, longest_picture_s = 8.0;
constexpr std::size_t most_channels = 8; ///< of an event that are shown and played
constexpr double longest_passage_s = 30.0;
constexpr double before_best_s = 2.0; ///< of a find that is longer than an excerpt
constexpr int small_columns = 96, small_rows = 28;
constexpr double small_range_db = 45.0;
/// Sound that excerpts may take, as a share of what all channels have: so the folder stays under a
/// fifth of the recording. A short recording keeps all.
constexpr double sound_share = 0.14, short_s = 300.0;

/// The part of a block that a picture of an event shows; empty where it does not hold all of it.
struct Shown {
    double from_s = 0.0, to_s = 0.0;
    std::size_t first = 0, count = 0; ///< of the block's frames
};

Shown shown_of(const Recording& recording, const Block& cut, const Event& event) {
    Shown shown;
    const double from_s = std::max(0.0, event.onset_s - picture_lead_s);
    const double to_s = std::min(event.end_s + picture_trail_s, from_s + longest_picture_s);
    const Frame first = std::clamp<Frame>(std::llround(from_s * recording.rate_hz) - cut.first, 0,
                                          cut.frames),
                end = std::clamp<Frame>(std::llround(to_s * recording.rate_hz) - cut.first, first,
                                        cut.frames);
    shown.first = static_cast<std::size_t>(first);
    shown.count = static_cast<std::size_t>(end - first);
    shown.from_s = recording.seconds(cut.first + first);
    shown.to_s = recording.seconds(cut.first + end);
    return shown;
}

FindPicture picture_of_find(const Recording& recording, const Block& cut, const Find& find,
                            const Event& event, const std::vector<int>& channels) {
    const Shown shown = shown_of(recording, cut, event);
    FindPicture picture;
    picture.find = find.number;
    picture.channel = event.strongest;
    picture.high_hz = std::min(picture_high_hz, recording.rate_hz / 2.0);
    picture.range_db = picture_range_db;
    picture.from_s = shown.from_s;
    picture.to_s = shown.to_s;
    const auto samples = [&](int channel) {
        return cut.channel(channel).subspan(shown.first, shown.count);
    };
    const Spectrogram spectra =
        spectrogram(samples(event.strongest), recording.rate_hz, picture_window_s, picture_columns);
    if (spectra.columns == 0) return picture;
    // A column stands for the middle of its window: half a window at each end has none.
    picture.png_from_s = shown.from_s + spectra.first_s - spectra.step_s / 2.0;
    picture.png_to_s = picture.png_from_s + spectra.columns * spectra.step_s;
    picture.png = to_png(picture_of(spectra, picture.high_hz, picture_rows, picture.range_db));
    picture.small_png = to_png(picture_of(
        spectrogram(samples(event.strongest), recording.rate_hz, picture_window_s, small_columns),
        picture.high_hz, small_rows, small_range_db));
    for (const int channel : channels)
        picture.waves.emplace_back(channel, wave_shape(samples(channel)));
    return picture;
}

/// What is shown and played of one find.
struct Cut {
    const Find* find = nullptr;
    const Event* event = nullptr; ///< its best
    ExcerptRequest excerpt;
    std::vector<int> channels; ///< that heard it, the loudest first
    double from_s = 0.0, to_s = 0.0;
    std::string file; ///< of the excerpt, in the folder; empty: not to be handed on
};

/// A stretch of the recording that holds the excerpts of finds close together: decoded once, and
/// each channel packed once for the page.
struct Passage {
    double from_s = 0.0, to_s = 0.0;
    std::vector<Cut> cuts;
    std::string file; ///< of the sound's script, in excerpts/; empty: not to be handed on
};

struct Illustrated {
    std::vector<Excerpt> excerpts;
    std::vector<SoundScript> sounds;
    std::vector<FindPicture> pictures;
};

/// Channels that heard the event, the loudest first.
std::vector<int> channels_to_hear(const Event& event) {
    std::vector<const Arrival*> heard;
    for (const Arrival& arrival : event.arrivals)
        heard.push_back(&arrival);
    std::ranges::stable_sort(heard,
                             [](const Arrival* a, const Arrival* b) { return stronger(*a, *b); });
    std::vector<int> channels;
    for (const Arrival* arrival : heard)
        if (channels.size() < most_channels) channels.push_back(arrival->channel);
    return channels;
}

/// All of the find, or as much as an excerpt holds, from shortly before its best event on.
ExcerptRequest request_for(const Find& find, const Event& best, const ExcerptRules& rules) {
    const bool fits = find.to_s - find.from_s + rules.lead_s + rules.trail_s <= rules.longest_s;
    return {
        find.number,      fits ? find.from_s : std::max(find.from_s, best.onset_s - before_best_s),
        find.to_s,        ExcerptKind::channel,
        {best.strongest}, "find"};
}

Cut cut_of(const Find& find, const Event& best, const ExcerptRules& rules,
           const Recording& recording, const Disclosure& disclosure) {
    Cut cut{.find = &find,
            .event = &best,
            .excerpt = request_for(find, best, rules),
            .channels = channels_to_hear(best),
            .file = {}};
    std::tie(cut.from_s, cut.to_s) = excerpt_stretch(cut.excerpt, rules, recording);
    if (disclosure.may_hear(cut.from_s, cut.to_s))
        cut.file = "excerpts/" + excerpt_name(cut.excerpt, rules, recording);
    return cut;
}

/// Those that overlap are put together, up to a length.
/// \param cuts  by time
std::vector<Passage> passages_of(std::vector<Cut> cuts) {
    std::vector<Passage> passages;
    int number = 0;
    for (Cut& cut : cuts) {
        Passage* last = passages.empty() ? nullptr : &passages.back();
        const bool joins = last != nullptr && !last->file.empty() && !cut.file.empty() &&
                           cut.from_s <= last->to_s && cut.to_s - last->from_s <= longest_passage_s;
        if (!joins) {
            passages.push_back({cut.from_s, cut.to_s, {}, {}});
            last = &passages.back();
            if (!cut.file.empty()) last->file = fmt::format("sound-{:03}.js", ++number);
        }
        last->to_s = std::max(last->to_s, cut.to_s);
        last->cuts.push_back(std::move(cut));
    }
    return passages;
}

/// Illustrates finds on one thread.
class Illustrator {
  public:
    Illustrator(const Recording& recording, const Disclosure& disclosure, OutputFolder& folder)
        : recording_(&recording), disclosure_(&disclosure), folder_(&folder),
          stream_(recording.open()), reader_(*stream_, {}, recording.rate_hz) {}

    Illustrated illustrate(const Passage& passage, const ExcerptRules& rules) {
        Illustrated all;
        const Block& block =
            cut_excerpt(*recording_, reader_.as_function(), {passage.from_s, passage.to_s});
        if (!passage.file.empty()) add_sounds(all, block, passage, rules);
        for (const Cut& cut : passage.cuts) {
            FindPicture picture =
                picture_of_find(*recording_, block, *cut.find, *cut.event, cut.channels);
            if (!picture.png.empty() && disclosure_->may_see(picture.from_s, picture.to_s))
                all.pictures.push_back(std::move(picture));
        }
        return all;
    }

  private:
    void add_sounds(Illustrated& all, const Block& block, const Passage& passage,
                    const ExcerptRules& rules) {
        std::set<int> channels;
        for (const Cut& cut : passage.cuts) {
            ExcerptSound sound =
                make_sound(*recording_, block, {cut.from_s, cut.to_s}, cut.excerpt, rules);
            folder_->write(cut.file, sound.bytes);
            all.excerpts.push_back(std::move(sound.about));
            channels.insert(cut.channels.begin(), cut.channels.end());
        }
        std::vector<ExcerptSound> sounds;
        for (const int channel : channels)
            sounds.push_back(make_sound(
                *recording_, block, {passage.from_s, passage.to_s},
                {0, passage.from_s, passage.to_s, ExcerptKind::channel, {channel}}, rules));
        all.sounds.push_back({sounds.front().about.from_s,
                              sounds.front().about.to_s,
                              {channels.begin(), channels.end()},
                              "excerpts/" + passage.file,
                              true});
        folder_->write(all.sounds.back().file, sound_script(sounds));
    }

    const Recording* recording_;
    const Disclosure* disclosure_;
    OutputFolder* folder_;
    std::unique_ptr<Stream> stream_;
    StretchReader reader_;
};

/// Counts the seconds of sound that cuts take: an excerpt each, and for the page what no cut before
/// has of a channel.
class SoundTaken {
  public:
    double add(const Cut& cut) {
        seconds_ += cut.to_s - cut.from_s;
        for (const int channel : cut.channels)
            for (int at_s = static_cast<int>(cut.from_s); at_s < cut.to_s; ++at_s)
                seconds_ += on_page_.emplace(channel, at_s).second ? 1.0 : 0.0;
        return seconds_;
    }

  private:
    double seconds_ = 0.0;
    std::set<std::pair<int, int>> on_page_;
};

/// Cuts of the finds that are shown, with sound for the most deserving as far as it may go.
/// \param notices  gains one where not all have theirs
std::vector<Cut> cuts_of(const Account& account, const ExcerptRules& rules,
                         std::vector<Notice>& notices) {
    const Recording& recording = account.recording();
    const double length_s = account.to_s - account.from_s;
    const double most_s = sound_share * length_s * static_cast<double>(recording.channels.size());
    SoundTaken taken;
    std::size_t heard = 0, may_be_heard = 0;
    std::vector<Cut> cuts;
    for (const Find& find : std::span(account.finds).first(finds_shown(account.finds))) {
        Cut& cut = cuts.emplace_back(
            cut_of(find, account.event(find.best), rules, recording, account.disclosure));
        if (cut.file.empty()) continue;
        ++may_be_heard;
        if (taken.add(cut) > most_s && length_s > short_s)
            cut.file.clear();
        else
            ++heard;
    }
    if (heard < may_be_heard)
        notices.push_back(
            {"", fmt::format("excerpts: cut for the first {} of {} finds, as much as {:.0f} s of "
                             "one channel",
                             heard, may_be_heard, most_s)});
    return cuts;
}

} // namespace

Illustrations illustrate(const Account& account, OutputFolder& folder, int jobs,
                         const ProgressSink& progress) {
    const Recording& recording = account.recording();
    const Disclosure& disclosure = account.disclosure;
    const ExcerptRules rules;
    Illustrations all;
    std::vector<Cut> cuts = cuts_of(account, rules, all.notices);
    if (cuts.empty()) (void)folder.folder_of("excerpts");
    std::ranges::stable_sort(cuts, {}, &Cut::from_s);
    ProgressState state{"cutting excerpts", 0.0, static_cast<double>(cuts.size())};
    const std::vector<Passage> passages = passages_of(std::move(cuts));
    OrderedWork<Illustrated>::run(
        passages.size(), jobs,
        [&]() -> OrderedWork<Illustrated>::Piece {
            auto illustrator = std::make_shared<Illustrator>(recording, disclosure, folder);
            return [illustrator, &passages, &rules](std::size_t number, const std::atomic<bool>&) {
                return illustrator->illustrate(passages[number], rules);
            };
        },
        [&](std::size_t number, Illustrated&& some) {
            std::ranges::move(some.excerpts, std::back_inserter(all.excerpts));
            std::ranges::move(some.sounds, std::back_inserter(all.sounds));
            std::ranges::move(some.pictures, std::back_inserter(all.pictures));
            state.done_s += static_cast<double>(passages[number].cuts.size());
        },
        [&] { progress(state); });
    return all;
}

} // namespace lull
