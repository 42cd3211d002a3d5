// SPDX-License-Identifier: GPL-3.0-or-later
#include "account/internal/night_gaps.hpp"

#include <algorithm>
#include <string_view>

namespace lull {
namespace {

constexpr std::string_view skipped_word = "skipped: ";

void add_degraded(const Recording& recording, std::vector<NotAnalysed>& all) {
    for (const Notice& notice : recording.notices) {
        if (!notice.degraded) continue;
        if (notice.text.starts_with(skipped_word)) {
            all.push_back(
                {"skipped", notice.file, {}, {}, notice.text.substr(skipped_word.size())});
            continue;
        }
        NotAnalysed one{"changed", notice.file, {}, {}, notice.text};
        const auto input = std::ranges::find(recording.inputs, notice.file, &InputFile::label);
        if (input != recording.inputs.end() && notice.text.starts_with("is cut")) {
            one.what = "cut short";
            one.from_s = recording.seconds(input->first + input->frames);
            if (input->frames_promised && *input->frames_promised > input->frames)
                one.to_s = recording.seconds(input->first + *input->frames_promised);
        }
        if (input != recording.inputs.end() && notice.text.starts_with("is damaged")) {
            one.what = "damaged";
            if (!input->lost.empty()) {
                one.from_s = recording.seconds(input->first + input->lost.front().first);
                one.to_s = recording.seconds(input->first + input->lost.back().end());
            }
        }
        all.push_back(std::move(one));
    }
}

/// Times for which no file has samples, and times for which two have and only one counts.
void add_gaps(const Recording& recording, std::vector<NotAnalysed>& all) {
    const bool in_sequence =
        std::ranges::any_of(recording.channels, [](const Channel& c) { return !c.recording; });
    std::vector<const InputFile*> files;
    for (const InputFile& input : recording.inputs)
        files.push_back(&input);
    std::ranges::stable_sort(files, {}, &InputFile::first);
    Frame end = 0;
    for (const InputFile* file : files) {
        const Frame file_end = file->first + file->frames;
        if (file->first > end)
            all.push_back({"gap", "", recording.seconds(end), recording.seconds(file->first),
                           "no file holds it"});
        else if (in_sequence && file->first < end)
            all.push_back({"overlap", file->label, recording.seconds(file->first),
                           recording.seconds(std::min(end, file_end)),
                           "the file that began earlier counts there"});
        end = std::max(end, file_end);
    }
}

void add_left_out(const Recording& recording, double from_s, double to_s,
                  std::vector<NotAnalysed>& all) {
    if (from_s > 0.0) all.push_back({"outside", "", 0.0, from_s, "before --from"});
    if (to_s < recording.duration_s())
        all.push_back({"outside", "", to_s, recording.duration_s(), "after --to"});
    for (const Channel& channel : recording.session.channels)
        if (std::ranges::find(recording.channels, channel.name, &Channel::name) ==
            recording.channels.end())
            all.push_back({"channel", channel.name, {}, {}, "not among --channels"});
}

} // namespace

std::vector<NotAnalysed> not_analysed(const Recording& recording, double from_s, double to_s) {
    std::vector<NotAnalysed> all;
    add_degraded(recording, all);
    add_gaps(recording, all);
    add_left_out(recording, from_s, to_s, all);
    return all;
}

} // namespace lull
