// SPDX-License-Identifier: GPL-3.0-or-later
//
// The words of a sheet, and which of them mean the same.
#pragma once

#include "detect/event.hpp"
#include "recording/written_text.hpp"

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// Normal form of a name: lower case; runs of space, `-`, `_` and `.` become one space.
[[nodiscard]] std::string plain_name(std::string_view text);
/// The parts of a list separated by `;`, `,`, `/`, `+` or `&`, trimmed, without empty ones.
[[nodiscard]] std::vector<std::string> listed(std::string_view text);

/// Synonyms of the program's own words (data/grading/synonyms.json).
struct Synonyms {
    std::map<std::string, EventKind> kinds;     ///< by plain_name
    std::map<std::string, std::string> columns; ///< plain_name of a heading -> time, kind, ...
    std::vector<std::string> unknown;           ///< plain_name of words for "not known"

    /// Only the kinds' own names and the standard columns.
    [[nodiscard]] static Synonyms bare();
    /// Whether a cell is blank or holds `?` or a similar word.
    [[nodiscard]] bool is_unknown(std::string_view cell) const;
    /// The kind that a cell means: by the whole cell, or else by its words if all known ones agree.
    /// A question mark at its end is ignored. Empty when no kind is known, or several are.
    [[nodiscard]] std::optional<EventKind> kind_of(std::string_view cell) const;
    /// "time", "kind", "channel", "x_m", "y_m", "z_m", "note", ... or empty.
    [[nodiscard]] std::string column_of(std::string_view heading) const;
};

/// Reads a synonyms file and adds it to the bare ones. \throws Error(input)
[[nodiscard]] Synonyms load_synonyms(const std::string& path);

/// The kind with exactly this name ("voice-like"); empty for other names.
[[nodiscard]] std::optional<EventKind> kind_named(std::string_view name);

} // namespace lull
