// SPDX-License-Identifier: GPL-3.0-or-later
//
// The progress line on standard error.
#pragma once

#include "review/progress.hpp"

#include <chrono>
#include <string>

namespace lull {

/// Shows at once what is being done; then percent, speed as times real time, time left and current
/// file. Redraws on a terminal; in a log it writes one line every half minute. Silent when quiet.
/// Also stops a pass when the process was asked to end.
class ProgressLine {
  public:
    ProgressLine(std::string tool, bool quiet);
    ~ProgressLine();
    ProgressLine(const ProgressLine&) = delete;
    ProgressLine& operator=(const ProgressLine&) = delete;

    /// \throws Interrupted
    void operator()(const ProgressState& state);
    [[nodiscard]] ProgressSink sink() {
        return [this](const ProgressState& state) { (*this)(state); };
    }
    void clear(); ///< removes the line from the terminal

  private:
    using Clock = std::chrono::steady_clock;
    void draw(const ProgressState& state, Clock::time_point now);

    std::string tool_;
    bool quiet_;
    bool terminal_;
    bool drawn_ = false;
    std::string doing_;
    Clock::time_point began_{}, shown_{};
};

} // namespace lull
