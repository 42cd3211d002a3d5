// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/digests.hpp"

#include "recording/digest.hpp"

#include <chrono>

namespace lull {

Digests::Digests(Recording& recording)
    : done_(std::async(std::launch::async,
                       [this, &recording] { digest_inputs(recording, stop_); })) {}

void Digests::wait(const ProgressSink& progress) {
    const ProgressState state{"digesting the inputs"};
    while (done_.wait_for(std::chrono::milliseconds(100)) != std::future_status::ready)
        progress(state);
    done_.get();
}

} // namespace lull
