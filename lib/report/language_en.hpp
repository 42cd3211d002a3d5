// SPDX-License-Identifier: GPL-3.0-or-later
//
// Every word of the page, in English. A translation is another file of these.
#pragma once

namespace lull::language {

inline constexpr const char *code = "en", *page_title = "lull: what was heard",
                            *caution = "Caution",
                            *privacy = "Recordings of a search may hold the voices of persons. "
                                       "Keep, share and delete this folder under "
                                       "your local rules on personal data and evidence.",
                            *start = "Start", *start_unknown = "not known: times count from 0 s",
                            *known_from = "known from", *length = "Length", *exhibit = "Exhibit",
                            *counts = "Events by confidence", *headline = "0.5 and more",
                            *lower = "listed, under 0.5", *not_listed = "not listed, lower still",
                            *not_counted = "not counted", *heard = "What was heard",
                            *order = "Most deserving of a listen first: by confidence in steps of "
                                     "0.1, then by signal-to-noise ratio, "
                                     "then by time. Words describe sounds, never persons.",
                            *time_line = "Time line",
                            *time_line_about =
                                "Loudest 50 ms of each step over the channel's noise floor, in dB. "
                                "Hatched: quiet periods. Filled "
                                "square: tapping; ring: voice-like; flag: horn; cross: other.",
                            *time_axis = "time from the start",
                            *level_axis = "level over noise floor, dB", *event = "Event",
                            *kind = "Kind", *onset = "Onset", *clock = "Clock",
                            *channel = "Channel", *channels = "Channels", *snr = "SNR, dB",
                            *confidence = "Confidence", *why = "Why", *details = "Event by event",
                            *listen = "Listen", *spectrogram = "Spectrogram",
                            *dark_is_loud = "dark is loud",
                            *ranks = "Ranks within channels of one kind",
                            *ranks_axis = "peak energy",
                            *delays = "Delays: arrival at the second channel minus the first",
                            *delay_usable = "usable", *delay_refused = "not usable", *gain = "gain",
                            *mix = "mix of the channels that heard it",
                            *pair = "left ear, right ear",
                            *fitness = "Were the channels fit to hear?", *findings = "Findings",
                            *log = "Operators' log", *judgements = "Judgements of reviewers",
                            *notices = "About the inputs", *inputs = "Inputs",
                            *settings = "Settings", *made = "How this was made",
                            *more_rows = "more rows are in the table beside this page:";

} // namespace lull::language
