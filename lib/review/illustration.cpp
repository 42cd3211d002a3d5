// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/illustration.hpp"

#include "picture/spectrogram.hpp"
#include "report/page.hpp"
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
constexpr double picture_high_hz = 4000.0;
constexpr int picture_columns = 280, picture_height = 100;

EventPicture picture_of_event(const Recording& recording, StretchReader& reader,
                              const Event& event) {
    EventPicture picture;
    picture.event = event.number;
    picture.channel = event.strongest;
    picture.high_hz = std::min(picture_high_hz, recording.rate_hz / 2.0);
    const double from_s = std::max(0.0, event.onset_s - picture_lead_s);
    const double to_s = std::min(
        {recording.duration_s(), event.end_s + picture_trail_s, from_s + longest_picture_s});
    const auto first = static_cast<Frame>(std::llround(from_s * recording.rate_hz));
    const auto count = static_cast<Frame>(std::llround((to_s - from_s) * recording.rate_hz));
    const Block& block = reader.read(first, count);
    picture.from_s = recording.seconds(block.first);
    picture.to_s = recording.seconds(block.first + block.frames);
    const Spectrogram spectra = spectrogram(block.channel(event.strongest), recording.rate_hz,
                                            picture_window_s, picture_columns);
    if (spectra.columns == 0) return picture;
    GreyImage image = picture_of(spectra, picture.high_hz, picture_height);
    // Sixteen steps of 4 dB are as many as the eye tells apart, and pack to a third of the size.
    for (std::uint8_t& pixel : image.pixels)
        pixel = static_cast<std::uint8_t>(pixel / 17 * 17);
    picture.png = to_png(image);
    return picture;
}

struct Illustrated {
    std::optional<Excerpt> excerpt;
    SoundScript sound;
    EventPicture picture;
};

/// What is cut out of the recording for an event, and where it is written.
struct Cuts {
    ExcerptRequest excerpt, sound;
    std::string excerpt_path, sound_path; ///< empty: not to be handed on
};

/// Channels that heard the event, the loudest first, as many as one file holds.
std::vector<int> channels_to_hear(const Event& event) {
    std::vector<const Arrival*> heard;
    for (const Arrival& arrival : event.arrivals)
        heard.push_back(&arrival);
    std::ranges::stable_sort(heard, std::greater{}, [](const Arrival* a) { return a->snr_db; });
    std::vector<int> channels;
    for (const Arrival* arrival : heard)
        if (channels.size() < most_tracks) channels.push_back(arrival->channel);
    return channels;
}

Cuts cuts_of(const Event& event, const ExcerptRules& rules, const Recording& recording,
             const Disclosure& disclosure, OutputFolder& folder) {
    Cuts cuts;
    cuts.excerpt = {
        event.number, event.onset_s, event.end_s, ExcerptKind::channel, {event.strongest}};
    cuts.sound = {event.number, event.onset_s, event.end_s, ExcerptKind::each,
                  channels_to_hear(event)};
    const auto [from_s, to_s] = excerpt_stretch(cuts.excerpt, rules, recording);
    if (!disclosure.may_hear(from_s, to_s)) return cuts;
    cuts.excerpt_path = folder.path_of("excerpts/" + excerpt_name(cuts.excerpt, rules, recording));
    cuts.sound_path = folder.path_of(fmt::format("excerpts/event-{:03}.js", event.number));
    return cuts;
}

/// Illustrates events on one thread.
class Illustrator {
  public:
    Illustrator(const Recording& recording, const Disclosure& disclosure)
        : recording_(&recording), disclosure_(&disclosure), stream_(recording.open()),
          reader_(*stream_, {}, recording.rate_hz) {}

    Illustrated illustrate(const Event& event, const Cuts& cuts, const ExcerptRules& rules) {
        Illustrated one;
        const StretchOf stretch = reader_.as_function();
        if (!cuts.excerpt_path.empty()) {
            one.excerpt =
                write_excerpt(*recording_, stretch, cuts.excerpt, rules, cuts.excerpt_path);
            const Excerpt sound =
                write_sound_script(*recording_, stretch, cuts.sound, rules, cuts.sound_path);
            one.sound = sound_script_of(sound);
        }
        EventPicture picture = picture_of_event(*recording_, reader_, event);
        if (disclosure_->may_see(event.kind, picture.from_s, picture.to_s))
            one.picture = std::move(picture);
        return one;
    }

  private:
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
    chosen.resize(std::min(chosen.size(), most_blocks_shown));
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
