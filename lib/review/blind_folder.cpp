// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/blind_folder.hpp"

#include "recording/digest.hpp"
#include "report/folder.hpp"
#include "report/page.hpp"
#include "report/read_first.hpp"
#include "review/digests.hpp"
#include "review/provenance.hpp"
#include "review/stretch.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

constexpr double slice_s = 20.0; ///< as long as attention holds, and a page can load at once

/// What judgements are about: the inputs themselves, since nothing was found in them.
std::string digest_of_inputs(const Recording& recording) {
    std::string digests;
    for (const InputFile& input : recording.inputs)
        digests += input.sha256;
    return sha256_of_text(digests);
}

std::vector<SoundScript> write_slices(const Recording& recording, const ReviewRequest& request,
                                      OutputFolder& folder, const ProgressSink& progress) {
    const auto stream = recording.open();
    StretchReader reader(*stream, {}, recording.rate_hz);
    const ExcerptRules rules;
    const double from_s = recording.seconds(request.settings.from),
                 to_s = recording.seconds(request.settings.to);
    ProgressState state{"cutting slices", 0.0, to_s - from_s};
    std::vector<SoundScript> slices;
    for (int number = 1; from_s + (number - 1) * slice_s < to_s; ++number) {
        progress(state);
        state.done_s += slice_s;
        const double begin_s = from_s + (number - 1) * slice_s;
        const double end_s = std::min(begin_s + slice_s, to_s);
        if (!request.disclosure.may_hear(begin_s, end_s)) continue;
        const Block& cut = cut_excerpt(recording, reader.as_function(), std::pair(begin_s, end_s));
        SoundScript slice{number, begin_s, end_s, {}, fmt::format("slice-{:04}.js", number)};
        std::vector<ExcerptSound> sounds;
        for (int channel = 0; channel < cut.channels; ++channel) {
            slice.channels.push_back(channel);
            sounds.push_back(make_sound(recording, cut, {begin_s, end_s},
                                        {number, begin_s, end_s, ExcerptKind::channel, {channel}},
                                        rules));
        }
        folder.write("excerpts/" + slice.file, sound_script(sounds));
        slices.push_back(std::move(slice));
    }
    return slices;
}

} // namespace

void write_blind_folder(Recording& recording, const ReviewRequest& request,
                        const ProgressSink& progress) {
    OutputFolder folder(request.folder, review_tool, input_paths(recording));
    if (!request.disclosure.details) folder.share();
    Digests digests(recording);
    ReportData report;
    report.sounds = write_slices(recording, request, folder, progress);
    digests.wait(progress);
    if (!request.disclosure.details) hide_details(recording);
    report.provenance = {review_tool, {}, &recording};
    report.language = request.language;
    report.digest = digest_of_inputs(recording);
    report.band = request.settings.band;
    folder.write("index.html", blind_page_html(report));
    std::vector<std::string> sounds;
    for (const SoundScript& sound : report.sounds)
        sounds.push_back("excerpts/" + sound.file);
    folder.write("READ-FIRST.txt", read_first_text(recording, sounds, request.disclosure));
    folder.publish(request.run);
}

} // namespace lull
