// SPDX-License-Identifier: GPL-3.0-or-later
//
// The options that several tools have, as plain values.
#pragma once

#include "recording/recording.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// An input that was opened and can no longer be read. The others are used without it.
struct LostInput {
    std::string path, label, why;
};

struct InputOptions {
    std::string input;               ///< audio file, session file, or "-"
    std::vector<std::string> inputs; ///< for a tool that takes several inputs, or a folder
    /// Files that other options name. They may lie in a folder of inputs and are not inputs.
    std::vector<std::string> not_inputs;
    std::vector<LostInput> lost;
    std::optional<std::vector<std::string>> only; ///< if set, only these files of a folder, by path
    OpenOptions open;
    std::string from, to; ///< as written; empty: begin and end of the recording
    std::string band;     ///< "LO-HI" in Hz; empty: the default analysis band
    int jobs = 0;         ///< number of threads; 0: one for each processor
};

struct TableOutput {
    std::string file;   ///< empty: standard output
    std::string format; ///< "csv", "json" or "jsonl"; empty: by the file's ending, else csv
};

/// Splits "a,b,c" at commas and removes blanks round the names. Refuses empty names.
/// \throws Error(usage)
[[nodiscard]] std::vector<std::string> split_names(const std::string& text);

/// Reads "LO-HI" in Hz. \throws Error(usage)
[[nodiscard]] std::pair<double, double> parse_band(const std::string& text);

/// The number of threads for `jobs`; 0 means one for each processor.
[[nodiscard]] int thread_count(int jobs);

} // namespace lull
