// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/illustration.hpp"

#include "picture/spectrogram.hpp"
#include "recording/atomic_file.hpp"
#include "report/report_data.hpp"
#include "review/stretch.hpp"
#include "review/work.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <memory>
#include <optional>
#include <utility>

namespace lull {
namespace {

constexpr double picture_window_s = 0.032, picture_lead_s = 0.5, picture_trail_s = 1.0,
                 longest_picture_s = 8.0;
constexpr double picture_high_hz = 4000.0, picture_range_db = 60.0;
constexpr int picture_columns = 240, picture_height = 80;
constexpr std::size_t most_channels = 8; ///< of an event that are shown and played

/// The part of a block that a picture of the event shows; empty where it does not hold all of it.
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

EventPicture picture_of_event(const Recording& recording, const Block& cut, const Event& event,
                              const std::vector<int>& channels) {
    const Shown shown = shown_of(recording, cut, event);
    EventPicture picture;
    picture.event = event.number;
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
    GreyImage image = picture_of(spectra, picture.high_hz, picture_height, picture.range_db);
    // Sixteen steps of 4 dB are as many as the eye tells apart, and pack to a third of the size.
    for (std::uint8_t& pixel : image.pixels)
        pixel = static_cast<std::uint8_t>(pixel / 17 * 17);
    picture.png = to_png(image);
    for (const int channel : channels)
        picture.waves.emplace_back(channel, wave_shape(samples(channel)));
    return picture;
}

struct Illustrated {
    std::optional<Excerpt> excerpt;
    SoundScript sound;
    EventPicture picture;
};

/// What is cut out of the recording for an event, and where it is written.
struct Cuts {
    ExcerptRequest excerpt;
    std::vector<int> channels;            ///< that heard it
    std::string excerpt_path, sound_path; ///< empty: not to be handed on
};

/// Channels that heard the event, the loudest first.
std::vector<int> channels_to_hear(const Event& event) {
    std::vector<const Arrival*> heard;
    for (const Arrival& arrival : event.arrivals)
        heard.push_back(&arrival);
    std::ranges::stable_sort(heard, std::greater{}, [](const Arrival* a) { return a->snr_db; });
    std::vector<int> channels;
    for (const Arrival* arrival : heard)
        if (channels.size() < most_channels) channels.push_back(arrival->channel);
    return channels;
}

Cuts cuts_of(const Event& event, const ExcerptRules& rules, const Recording& recording,
             const Disclosure& disclosure, OutputFolder& folder) {
    Cuts cuts;
    cuts.excerpt = {
        event.number, event.onset_s, event.end_s, ExcerptKind::channel, {event.strongest}};
    cuts.channels = channels_to_hear(event);
    const auto [from_s, to_s] = excerpt_stretch(cuts.excerpt, rules, recording);
    if (!disclosure.may_hear(from_s, to_s)) return cuts;
    cuts.excerpt_path = folder.path_of("excerpts/" + excerpt_name(cuts.excerpt, rules, recording));
    cuts.sound_path = folder.path_of(fmt::format("excerpts/event-{:03}.js", event.number));
    return cuts;
}

/// Illustrates events on one thread. An event's stretch is decoded once, and each of its channels
/// encoded once.
class Illustrator {
  public:
    Illustrator(const Recording& recording, const Disclosure& disclosure)
        : recording_(&recording), disclosure_(&disclosure), stream_(recording.open()),
          reader_(*stream_, {}, recording.rate_hz) {}

    Illustrated illustrate(const Event& event, const Cuts& cuts, const ExcerptRules& rules) {
        Illustrated one;
        const Block& cut = cut_excerpt(*recording_, reader_.as_function(),
                                       excerpt_stretch(cuts.excerpt, rules, *recording_));
        if (!cuts.excerpt_path.empty()) add_sound(one, cut, cuts, rules);
        EventPicture picture = picture_of_event(*recording_, cut, event, cuts.channels);
        if (disclosure_->may_see(picture.from_s, picture.to_s)) one.picture = std::move(picture);
        return one;
    }

  private:
    void add_sound(Illustrated& one, const Block& cut, const Cuts& cuts,
                   const ExcerptRules& rules) {
        const int strongest = cuts.excerpt.channels.front();
        std::vector<Sound> sounds;
        for (const int channel : cuts.channels) {
            ExcerptRequest request = cuts.excerpt;
            request.channels = {channel};
            sounds.push_back(make_sound(*recording_, cut, request, rules, channel != strongest));
            if (channel != strongest) continue;
            write_file(cuts.excerpt_path, sounds.back().bytes);
            one.excerpt = sounds.back().about;
        }
        write_file(cuts.sound_path, sound_script(sounds));
        one.sound = sound_script_of(sounds, cuts.sound_path);
    }

    const Recording* recording_;
    const Disclosure* disclosure_;
    std::unique_ptr<Stream> stream_;
    StretchReader reader_;
};

} // namespace

Illustrations illustrate(const Recording& recording, const std::vector<Event>& events,
                         const Disclosure& disclosure, OutputFolder& folder, int jobs,
                         const ProgressSink& progress) {
    std::vector<std::size_t> chosen = most_deserving_first(events);
    chosen.resize(events_shown(events));
    const ExcerptRules rules;
    std::vector<Cuts> all_cuts;
    for (const std::size_t i : chosen)
        all_cuts.push_back(cuts_of(events[i], rules, recording, disclosure, folder));
    if (chosen.empty()) (void)folder.folder_of("excerpts");
    Illustrations all;
    ProgressState state{"cutting excerpts", 0.0, static_cast<double>(chosen.size())};
    OrderedWork<Illustrated>::run(
        chosen.size(), jobs,
        [&]() -> OrderedWork<Illustrated>::Piece {
            auto illustrator = std::make_shared<Illustrator>(recording, disclosure);
            return [illustrator, &events, &chosen, &all_cuts, &rules](std::size_t number,
                                                                      const std::atomic<bool>&) {
                return illustrator->illustrate(events[chosen[number]], all_cuts[number], rules);
            };
        },
        [&](std::size_t, Illustrated&& one) {
            if (one.excerpt) {
                all.excerpts.push_back(std::move(*one.excerpt));
                all.sounds.push_back(std::move(one.sound));
            }
            if (!one.picture.png.empty()) all.pictures.push_back(std::move(one.picture));
            state.done_s += 1.0;
        },
        [&] { progress(state); });
    return all;
}

} // namespace lull
