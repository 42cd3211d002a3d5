// SPDX-License-Identifier: GPL-3.0-or-later
//
// The words of a sheet: which of them mean the same.
#pragma once

#include "detect/event.hpp"
#include "recording/written_text.hpp"

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// What two spellings of a name share: small letters; runs of space, `-`, `_` and `.` as one space.
[[nodiscard]] std::string plain_name(std::string_view text);
/// The parts of a list written with `;`, `,`, `/`, `+` or `&`, trimmed, empty ones left out.
[[nodiscard]] std::vector<std::string> listed(std::string_view text);

/// Words that mean one of the program's own (data/grading/synonyms.json).
struct Synonyms {
    std::map<std::string, EventKind> kinds;     ///< by plain_name
    std::map<std::string, std::string> columns; ///< plain_name of a heading -> time, kind, ...
    std::vector<std::string> unknown;           ///< plain_name of what stands for "not known"

    /// The kind's own names and the columns of design tables alone.
    [[nodiscard]] static Synonyms bare();
    /// True for a blank cell and for `?` and its like.
    [[nodiscard]] bool is_unknown(std::string_view cell) const;
    /// The kind that a cell means: the whole cell, or else its words when all that are known agree.
    /// A question mark at its end is left aside. None when nothing is known, or several are.
    [[nodiscard]] std::optional<EventKind> kind_of(std::string_view cell) const;
    /// "time", "kind", "channel", "x_m", "y_m", "z_m", "note", ... or empty.
    [[nodiscard]] std::string column_of(std::string_view heading) const;
};

/// Reads a synonyms file, added to the bare ones. \throws Error(input)
[[nodiscard]] Synonyms load_synonyms(const std::string& path);

/// The kind with exactly this name ("voice-like"), or none.
[[nodiscard]] std::optional<EventKind> kind_named(std::string_view name);

} // namespace lull
