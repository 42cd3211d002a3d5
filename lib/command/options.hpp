// SPDX-License-Identifier: GPL-3.0-or-later
//
// The options that tools share, as plain values.
#pragma once

#include "recording/recording.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// An input that could be opened and then no longer read: the others do without it.
struct LostInput {
    std::string path, label, why;
};

struct InputOptions {
    std::string input;               ///< audio file, session file, or "-"
    std::vector<std::string> inputs; ///< of a tool that takes several, or a folder
    /// Files that are named for another purpose: a folder's recordings may lie beside them.
    std::vector<std::string> not_inputs;
    std::vector<LostInput> lost;
    std::optional<std::vector<std::string>> only; ///< of a folder's files just these, by path
    OpenOptions open;
    std::string from, to; ///< as written; empty: the recording's own ends
    std::string band;     ///< "LO-HI" in Hz; empty: the default analysis band
    int jobs = 0;         ///< threads in all; 0: as many as there are processors
};

struct TableOutput {
    std::string file;   ///< empty: standard output
    std::string format; ///< "csv", "json" or "jsonl"; empty: by the file's ending, else csv
};

/// Splits "a,b,c" at commas, blanks round the names dropped, empty names refused.
/// \throws Error(usage)
[[nodiscard]] std::vector<std::string> split_names(const std::string& text);

/// Reads "LO-HI" in Hz. \throws Error(usage)
[[nodiscard]] std::pair<double, double> parse_band(const std::string& text);

/// The number of threads that a request for `jobs` means (0: one for each processor).
[[nodiscard]] int thread_count(int jobs);

} // namespace lull
