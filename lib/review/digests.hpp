// SPDX-License-Identifier: GPL-3.0-or-later
//
// Digests of a recording's inputs, read from the disk while the samples are analysed.
#pragma once

#include "recording/recording.hpp"
#include "review/progress.hpp"

#include <atomic>
#include <future>

namespace lull {

class Digests {
  public:
    /// \param recording  outlives the object; its digests are there after wait()
    explicit Digests(Recording& recording);
    ~Digests() { stop_ = true; } ///< ends the reading early
    Digests(const Digests&) = delete;
    Digests& operator=(const Digests&) = delete;

    /// \throws Error(input), and whatever `progress` throws
    void wait(const ProgressSink& progress);

  private:
    std::atomic<bool> stop_ = false;
    std::future<void> done_; ///< waits when it goes
};

} // namespace lull
