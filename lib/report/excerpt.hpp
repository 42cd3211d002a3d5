// SPDX-License-Identifier: GPL-3.0-or-later
//
// Excerpts: audio of an event, cut out to be listened to.
#pragma once

#include "recording/recording.hpp"

#include <span>
#include <string>
#include <utility>
#include <vector>

namespace lull {

enum class ExcerptKind {
    channel, ///< one channel
    mix,     ///< the mean of several channels
    pair,    ///< two channels, the first on the left ear, the second on the right
};

struct ExcerptRequest {
    int number = 0; ///< of the event or find, for the name
    double onset_s = 0.0, end_s = 0.0;
    ExcerptKind kind = ExcerptKind::channel;
    std::vector<int> channels;  ///< one; several; two; several
    const char* what = "event"; ///< what the number is of
};

/// How excerpts are cut and made safe to hear. The gain is one number for a whole excerpt, so that
/// its course, and the difference between the ears, stay as they were.
struct ExcerptRules {
    double lead_s = 1.0, trail_s = 1.5;
    double longest_s = 30.0;
    double fade_s = 0.01;          ///< in and out, raised cosine
    double peak_db = -6.0;         ///< the largest sample comes to this [dB re full scale] ...
    double largest_gain_db = 40.0; ///< ... but what is very faint is not raised by more
    std::string ending = ".flac";  ///< or ".wav"
};

struct Excerpt {
    std::string file; ///< "event-003-stairwell.flac"
    int number = 0;   ///< of the event or find
    ExcerptKind kind = ExcerptKind::channel;
    std::vector<int> channels;
    double from_s = 0.0, to_s = 0.0;
    double gain_db = 0.0; ///< that was applied; 0 for silence
};

/// "event-003-stairwell.flac", "event-003-mix.flac", "event-003-stairwell-north-slab.flac":
/// letters, digits and hyphens of the names only; a channel without any is called by its number.
[[nodiscard]] std::string excerpt_name(const ExcerptRequest& request, const ExcerptRules& rules,
                                       const Recording& recording);

/// The stretch of the recording that an excerpt holds: {from_s, to_s}.
[[nodiscard]] std::pair<double, double> excerpt_stretch(const ExcerptRequest& request,
                                                        const ExcerptRules& rules,
                                                        const Recording& recording);

/// Samples of all channels of the recording over that stretch, for make_sound.
/// \param stretch  raw or band-passed samples
[[nodiscard]] const Block& cut_excerpt(const Recording& recording, const StretchOf& stretch,
                                       std::pair<double, double> from_to_s);

/// An excerpt, and its file's bytes.
struct ExcerptSound {
    Excerpt about;
    std::string bytes;
};

/// Conditions and encodes an excerpt. A constant offset is taken off; an exercise's mark goes into
/// the file's description.
/// \param cut        holds the excerpt's stretch, or more
/// \param from_to_s  the stretch
[[nodiscard]] ExcerptSound make_sound(const Recording& recording, const Block& cut,
                                      std::pair<double, double> from_to_s,
                                      const ExcerptRequest& request, const ExcerptRules& rules);

/// A script that hands the page's own script the sound of channels: a call of lullSound with the
/// bytes of an excerpt of each, and the gain of each. A page opened from a disk may not
/// read a file beside it, but may run it.
/// \param sounds  of one stretch, of kind `channel`
[[nodiscard]] std::string sound_script(std::span<const ExcerptSound> sounds);

/// Cuts, makes and writes one excerpt.
/// \param path     of the file to write; its ending decides the format
/// \throws Error(output), Error(input)
[[nodiscard]] Excerpt write_excerpt(const Recording& recording, const StretchOf& stretch,
                                    const ExcerptRequest& request, ExcerptRules rules,
                                    const std::string& path);

} // namespace lull
