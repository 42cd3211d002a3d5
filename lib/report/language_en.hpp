// SPDX-License-Identifier: GPL-3.0-or-later
//
// Every word of the page, in English. A translation is another file of these.
#pragma once

namespace lull::language {

inline constexpr const char *
    code = "en",
   *page_title = "lull: what was heard", *caution = "Caution",
   *privacy = "Recordings of a search may hold the voices of persons. "
              "Keep, share and delete this folder under "
              "your local rules on personal data and evidence.",
   *start = "Start", *start_unknown = "not known: times count from 0 s", *known_from = "known from",
   *length = "Length", *exhibit = "Exhibit", *counts = "Events by confidence",
   *headline = "0.5 and more", *lower = "listed, under 0.5",
   *not_listed = "not listed, lower still", *not_counted = "not counted", *heard = "What was heard",
   *order = "Most deserving of a listen first: tapping and voice-like sounds of "
            "confidence 0.5 and more, then other kinds of 0.5 and more, "
            "then the rest; within each by confidence in steps of 0.1, "
            "then by signal-to-noise ratio, then by time. "
            "Words describe sounds, never persons.",
   *time_line = "Time line",
   *time_line_about = "Loudest 50 ms of each step over the channel's noise floor, in dB. "
                      "Shaded or hatched: quiet periods. Filled "
                      "square: tapping; ring: voice-like; flag: horn; cross: other.",
   *time_axis = "time from the start", *level_axis = "level over noise floor, dB", *event = "Event",
   *kind = "Kind", *onset = "Onset", *clock = "Clock", *channel = "Channel", *channels = "Channels",
   *snr = "SNR, dB", *confidence = "Confidence", *why = "Why", *details = "Event by event",
   *left_out = "The sound of this event is left out of this folder.",
   *places = "Where it came from",
   *places_about = "For every series, and every lone event of confidence 0.5 and more, that the "
                   "array could place. Outlines: 50 and 90 %, given one source within the area "
                   "searched. locations.csv has all.",
   *listen = "Listen", *slice = "Slice",
   *blind_about = "This page shows nothing that a program found: listen to all of it, slice by "
                  "slice, and note what you hear by its time. Each slice is made as loud as its "
                  "loudest sound allows, so that levels of different slices cannot be compared.",
   *spectrogram = "Spectrogram", *dark_is_loud = "dark is loud",
   *ranks = "Ranks within channels of one kind", *ranks_axis = "peak energy",
   *delays = "Delays: arrival at the second channel minus the first", *delay_usable = "usable",
   *delay_refused = "not usable", *gain = "gain", *mix = "mix of the channels that heard it",
   *pair = "left ear, right ear", *fitness = "Were the channels fit to hear?",
   *findings = "Findings", *log = "Operators' log", *judgements = "Judgements of reviewers",
   *notices = "About the inputs", *inputs = "Inputs", *settings = "Settings",
   *made = "How this was made", *more_rows = "more rows are in the table beside this page:";

/// Words of the page's script, by the names it calls them.
inline constexpr const char* script_words = R"({
"event": "Event", "kind": "Kind", "onset": "Onset, s", "channel": "Channel", "reason": "Reason or note",
"time_line": "Time line: level over the noise floor of each channel, quiet periods shaded, events marked",
"closer": "Closer", "wider": "Wider", "earlier": "Earlier", "later": "Later", "whole": "All of it",
"left": "Left ear", "right": "Right ear", "banded": "Band-passed", "speed": "Speed",
"as_recorded": "as recorded", "half": "half", "quarter": "a quarter",
"twice": "twice, an octave up", "four_times": "four times, two octaves up",
"play_ears": "Play one on each ear", "play_mix": "Play the mean of all", "stop": "Stop",
"playing": "playing", "volume": "Loudness",
"no_sound": "the sound of this event is not in the folder beside this page",
"waveforms": "Waveform of each channel that heard the event, its onset dashed",
"judge": "Your judgement",
"judge_about": "What you note here stays in this browser until you export it as judgements.csv. It never alters the tables; hand it to lull-review --judgements or lull-grade.",
"reviewer": "Your name or pseudonym", "export": "Export judgements.csv",
"not_exported": "not yet exported", "not_stored": "this browser keeps nothing: export before you close the page",
"your_judgement": "Your judgement", "agree": "agree", "disagree": "disagree", "unsure": "unsure",
"same_kind": "as it is", "choose_kind": "choose", "note_it": "Note it", "noted": "noted",
"name_first": "your name or pseudonym first", "choose_first": "choose agree, disagree or unsure first",
"onset_moved": "onset moved to", "add_event": "Add an event that is not listed", "add": "Add it",
"onset_and_kind": "onset and kind first",
"keyboard": "Keys",
"keys": [["n", "next event"], ["p", "event before"], ["l", "play one channel on each ear"],
["m", "play the mean of all channels"], ["x", "stop"], ["a", "agree"], ["d", "disagree"], ["u", "unsure"],
["j", "note the judgement"], ["e", "export the judgements"], ["+", "time line closer"],
["-", "time line wider"], ["[", "time line earlier"], ["]", "time line later"], ["0", "all of the time line"]]
})";

} // namespace lull::language
