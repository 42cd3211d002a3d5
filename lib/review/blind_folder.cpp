// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/blind_folder.hpp"

#include "account/account.hpp"
#include "recording/digest.hpp"
#include "report/folder.hpp"
#include "report/page.hpp"
#include "report/read_first.hpp"
#include "review/digests.hpp"
#include "review/packing.hpp"

#include <utility>

namespace lull {
namespace {

/// What judgements are about: the inputs themselves, since nothing was found in them.
std::string digest_of_inputs(const Recording& recording) {
    std::string digests;
    for (const InputFile& input : recording.inputs)
        digests += input.sha256;
    return sha256_of_text(digests);
}

} // namespace

void write_blind_folder(Recording& recording, const ReviewRequest& request,
                        const ProgressSink& progress) {
    OutputFolder folder(request.folder, review_tool, input_paths(recording));
    if (!request.disclosure.details) folder.share();
    Digests(recording).wait(progress);
    Account account;
    account.provenance = {review_tool, {}, &recording};
    account.disclosure = request.disclosure;
    account.band = request.settings.band;
    account.from_s = recording.seconds(request.settings.from);
    account.to_s = recording.seconds(request.settings.to);
    if (!request.disclosure.details) account = without_details(std::move(account));
    ReportData report;
    report.account = &account;
    report.language = request.language;
    report.digest = digest_of_inputs(recording);
    report.sounds = pack_recording(account, false, folder, request.jobs, progress).sounds;
    folder.write("index.html", blind_page_html(report));
    std::vector<std::string> sounds;
    for (const SoundScript& sound : report.sounds)
        sounds.push_back(sound.file);
    folder.write("READ-FIRST.txt",
                 read_first_text(account.recording(), sounds, account.disclosure));
    folder.publish(request.run);
}

} // namespace lull
