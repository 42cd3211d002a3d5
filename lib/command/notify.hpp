// SPDX-License-Identifier: GPL-3.0-or-later
//
// A program of the user's, run when there is something to say.
#pragma once

#include <condition_variable>
#include <cstddef>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace lull {

inline constexpr double notify_most_s = 30.0;
inline constexpr std::size_t notify_most_waiting = 1000;

/// Runs a program beside the rest of this process, one run at a time. Texts that come while it runs
/// wait, and the next run gets all of them, in their order. No shell is involved, so whatever a
/// text holds is data. The program gets no standard input, writes to standard error, and is ended,
/// with its group, after a while or when this process is asked to end; texts that wait then are
/// lost.
class Notifier {
  public:
    /// \param command  path of the program, or its name on the PATH; empty: texts go nowhere
    /// \param most_s   how long one run may take, > 0
    explicit Notifier(std::string command, double most_s = notify_most_s);
    ~Notifier(); ///< finishes
    Notifier(const Notifier&) = delete;
    Notifier& operator=(const Notifier&) = delete;

    /// Hands over texts, each an argument of its own, without waiting. Of more than
    /// notify_most_waiting that wait the newest are dropped, which is a fault.
    void send(const std::vector<std::string>& texts);

    /// Waits for the run at work and for one more with what waits: at most twice most_s.
    void finish();

    /// What went wrong since the last call, for a person.
    [[nodiscard]] std::vector<std::string> take_faults();

  private:
    void work();

    std::string command_;
    double most_s_;
    std::mutex mutex_; ///< of what follows
    std::condition_variable changed_;
    std::vector<std::string> waiting_, faults_;
    bool ends_ = false;
    std::thread thread_;
};

} // namespace lull
