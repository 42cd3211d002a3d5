// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/read_first.hpp"

#include "report/caution.hpp"
#include "report/pictures/text.hpp"

#include <string_view>

namespace lull {
namespace {

/// Lines of at most 78 characters, broken at blanks.
std::string wrapped(std::string_view text) {
    constexpr std::size_t width = 78;
    std::string lines, line;
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t end = std::min(text.find(' ', from), text.size());
        const std::string_view word = text.substr(from, end - from);
        if (!line.empty() && line.size() + 1 + word.size() > width) {
            lines += line + "\n";
            line.clear();
        }
        line += (line.empty() ? "" : " ") + std::string(word);
        from = end + 1;
    }
    return lines + line + "\n";
}

} // namespace

std::string read_first_text(const Recording& recording, std::span<const std::string> sound_files,
                            const Disclosure& disclosure) {
    std::string text = "READ FIRST\n\n" + wrapped(caution_text) + "\n";
    if (recording.exercise) text += wrapped(exercise_text) + "\n";
    text += wrapped("Start with index.html, in any browser; it loads nothing from elsewhere. The "
                    "tables beside it (.csv) hold the same figures, and report.json all of them. "
                    "SHA256SUMS lists a digest of every file that lull wrote but run.log: check "
                    "with \"sha256sum -c SHA256SUMS\".") +
            "\n";
    text += wrapped("Recordings of a search may hold the voices of persons. Keep, share and delete "
                    "this folder under your local rules on personal data and evidence.") +
            "\n";
    if (!disclosure.sound)
        text += wrapped("Excerpts were left out, and pictures of times at which something "
                        "voice-like was heard.") +
                "\n";
    if (!disclosure.details)
        text += wrapped("To be shared: names of files, persons and places, notes and coordinates "
                        "were left out. Channels are numbered in the order of the session, whose "
                        "keeper can tell them apart. Times are those of the recording.") +
                "\n";
    if (!disclosure.withheld.empty())
        text += wrapped("Of some stretches neither sound nor pictures are in this folder.") + "\n";
    return text + sound_list(sound_files);
}

std::string sound_list(std::span<const std::string> sound_files) {
    if (sound_files.empty()) return "No file in this folder contains sound.\n";
    std::string text = "Files in this folder that contain sound:\n";
    for (const std::string& file : sound_files)
        text += "  " + valid_utf8(file) + "\n";
    return text;
}

} // namespace lull
