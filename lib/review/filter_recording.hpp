// SPDX-License-Identifier: GPL-3.0-or-later
//
// A conditioned copy of a recording.
#pragma once

#include "account/disclosure.hpp"
#include "recording/writer.hpp"
#include "review/progress.hpp"
#include "review/settings.hpp"

#include <optional>
#include <string>
#include <vector>

namespace lull {

struct FilterRequest {
    std::optional<Band> band; ///< none: no band-pass
    double gain_db = 0.0;
    bool remove_hum = false; ///< of the session's mains, else of 50 or 60 Hz; before the band-pass
    std::optional<SampleFormat> samples; ///< none: as the inputs have it
    bool zero_phase = false;             ///< forward and backward: no delay, twice the attenuation
    std::vector<TimeSpan> withheld = {}; ///< silence in the copy
};

struct FilterOutcome {
    Frame frames = 0;
    Frame clipped = 0; ///< samples that would have gone beyond full scale and were held at it,
                       ///< or went beyond it in a float file
};

/// Writes [from, to) of the recording to `file`: its start time, channels, and an exercise's mark
/// are kept. The file appears under its name only when whole.
/// \throws Error(output) when it cannot be written, Error(input), and whatever `progress` throws
FilterOutcome filter_recording(const Recording& recording, const Settings& settings,
                               const FilterRequest& request, const std::string& file,
                               const ProgressSink& progress);

} // namespace lull
