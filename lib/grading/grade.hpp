// SPDX-License-Identifier: GPL-3.0-or-later
//
// Grades sheets against the truth.
#pragma once

#include "grading/grade_rules.hpp"
#include "grading/grade_shift.hpp"
#include "grading/score.hpp"
#include "grading/score_curve.hpp"
#include "grading/sheet.hpp"
#include "grading/sheet_truth.hpp"

#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// A time slot in which a listener either reported something or did not.
struct Slot {
    double from_s = 0.0, to_s = 0.0; ///< from_s <= t < to_s
};

/// Slots of equal length one after another. A remainder shorter than half a slot is left out.
[[nodiscard]] std::vector<Slot> even_slots(double from_s, double to_s, double length_s);

enum class Outcome {
    hit,        ///< answers an event that was asked for
    not_asked,  ///< answers an event that nobody had to write down
    repeat,     ///< a further line for an event that has an answer already
    false_call, ///< answers no event
};
[[nodiscard]] const char* name_of(Outcome outcome); ///< "hit", "not asked", "repeat", "false call"

/// A part of one channel to hear again.
struct ExcerptReference {
    std::string name;    ///< "event-07", "sheet-2-line-5": a file name without its ending
    std::string channel; ///< empty: any
    double from_s = 0.0, to_s = 0.0;
};

struct GradedAnswer {
    Answer answer;
    double time_s = 0.0; ///< corrected by the sheet's shift
    Outcome outcome = Outcome::false_call;
    /// number in the truth, for a hit, a repeat or an event not asked for
    std::optional<int> event;
    std::optional<double> late_s;        ///< after the onset, for times as graded
    std::optional<bool> kind_right;      ///< hits; empty: not stated
    std::optional<bool> channel_right;   ///< hits; empty: not stated, or not in the truth
    std::optional<double> place_error_m; ///< hits; empty: not stated, or not in the truth
    std::string really_there;            ///< false calls: entries of truth and notes at that time
    std::optional<ExcerptReference> excerpt; ///< false calls
};

struct Miss {
    int event = 0; ///< its number in the truth
    ExcerptReference excerpt;
};

/// All results of one sheet.
struct SheetTally {
    Counts counts;
    int repeats = 0, not_asked = 0;
    Estimate precision, recall, f;
    int kind_right = 0, kind_stated = 0;
    Estimate kind; ///< share of right kinds among stated ones
    int channel_right = 0, channel_stated = 0;
    Estimate channel;
    int places = 0;
    Estimate place_error_m; ///< median
    int slots_with = 0, slots_without = 0, yes_with = 0, yes_without = 0;
    Detectability detection;
    double points = 0.0, points_possible = 0.0;
};

struct ListenerGrade {
    std::string name; ///< as on screens; a pseudonym if these are used
    std::string file;
    SheetShift shift;
    SheetTally tally;                  ///< corrected by the shift
    SheetTally as_written;             ///< with times as written on the sheet
    bool shift_matters = false;        ///< the two differ in hits, misses or false calls
    std::vector<GradedAnswer> answers; ///< corrected by the shift, in the order of the sheet
    std::vector<Miss> misses;
    HearingCurve curve;
    std::vector<SheetFault> faults;
};

/// The number of listeners who heard one event.
struct EventGrade {
    TruthEvent event;
    ExcerptReference excerpt;
    int heard = 0, listeners = 0;
    Estimate share;
    std::vector<std::string> heard_by;
};

/// All listeners together. Intervals come from a bootstrap over listeners (2000 draws, fixed seed),
/// so that they hold for a further listener of the same kind. Empty below three listeners.
struct GroupGrade {
    int listeners = 0;
    Counts counts; ///< sums
    Estimate precision, recall, f, place_error_m;
    HearingCurve curve;
};

/// Two listeners whose F intervals do not overlap. Where they overlap, no order is given.
struct Apart {
    std::string higher, lower;
};

struct Grade {
    std::string exercise;
    std::vector<Slot> slots;
    std::vector<ListenerGrade> listeners; ///< in the given order
    std::optional<ListenerGrade> program; ///< this program's own finds on the same scale
    std::vector<EventGrade> events;       ///< events asked for, by listeners only
    GroupGrade group;
    std::vector<Apart> apart;
    std::vector<Surrounding> surroundings;
};

struct GradeRequest {
    std::string exercise; ///< its label
    Truth truth;
    std::vector<Sheet> sheets;
    std::optional<Sheet> program; ///< the tool's own finds, read as a sheet
    GradeRules rules;
    std::vector<Slot> slots; ///< empty: even slots over the duration, or none when that is unknown
    std::optional<double> duration_s;
};

/// Grades every sheet: shift, best matching, scores with and without the shift, feedback. Then
/// grades events and group, and lists listeners that lie apart.
/// \throws Error(input) when the truth asks for no event
[[nodiscard]] Grade grade(const GradeRequest& request);

} // namespace lull
