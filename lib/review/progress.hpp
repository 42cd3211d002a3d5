// SPDX-License-Identifier: GPL-3.0-or-later
//
// How a long pass tells its caller where it is, and how the caller stops it.
#pragma once

#include <functional>
#include <stdexcept>
#include <string>

namespace lull {

struct ProgressState {
    std::string doing;      ///< "analysing", "comparing channels", "cutting excerpts"
    double done_s = 0.0;    ///< seconds of recording finished, or pieces
    double total_s = 0.0;   ///< in all; 0: not known
    bool real_time = false; ///< these are seconds of recording, so speed means something
    double earlier_s = 0.0; ///< of done_s, what an earlier run had finished
    std::string file = {};  ///< that is being worked on; may be empty
};

/// Called on the thread that started the pass, several times a second. May throw Interrupted (or
/// anything else): the pass then stops its workers and lets the exception through.
using ProgressSink = std::function<void(const ProgressState&)>;

/// Thrown out of a pass when the process was asked to end.
class Interrupted : public std::runtime_error {
  public:
    explicit Interrupted(int signal_number)
        : std::runtime_error("interrupted"), signal(signal_number) {}
    int signal; ///< SIGINT, SIGTERM or SIGHUP
};

} // namespace lull
