// SPDX-License-Identifier: GPL-3.0-or-later
//
// Runs a program of the user's that is told about finds.
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

/// Runs a program in the background, one run at a time. Texts that arrive during a run wait, and
/// the next run gets all of them in order. No shell is involved, so texts are never executed. The
/// program gets no standard input and writes to standard error. It is ended, with its process
/// group, after most_s or when this process is asked to end. Texts that still wait then are lost.
class Notifier {
  public:
    /// \param command  path of the program, or its name on the PATH; empty: texts are dropped
    /// \param most_s   longest time of a run, > 0
    explicit Notifier(std::string command, double most_s = notify_most_s);
    ~Notifier(); ///< calls finish()
    Notifier(const Notifier&) = delete;
    Notifier& operator=(const Notifier&) = delete;

    /// Queues texts, each as an argument of its own, without waiting. When more than
    /// notify_most_waiting wait, the newest are dropped, which is a fault.
    void send(const std::vector<std::string>& texts);

    /// Waits for the current run, and for one more with the texts that wait: at most twice most_s.
    void finish();

    /// What went wrong since the last call, for a person.
    [[nodiscard]] std::vector<std::string> take_faults();

  private:
    void work();

    std::string command_;
    double most_s_;
    std::mutex mutex_; ///< guards what follows
    std::condition_variable changed_;
    std::vector<std::string> waiting_, faults_;
    bool ends_ = false;
    std::thread thread_;
};

} // namespace lull
