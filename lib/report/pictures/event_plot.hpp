// SPDX-License-Identifier: GPL-3.0-or-later
//
// An event: the spectrogram of the channel that heard it best, the waveforms of all that did.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// What of a waveform a picture needs: its extremes in each of `waveform_columns` columns, in
/// steps of a sixteenth of its largest absolute sample.
struct WaveShape {
    std::vector<std::int8_t> low, high; ///< -16..16, low <= high
};

inline constexpr int waveform_columns = 280;

/// \param samples  any number; a constant offset is taken off
[[nodiscard]] WaveShape wave_shape(std::span<const float> samples);

struct EventLane {
    std::string name; ///< of the channel
    WaveShape wave;
    std::optional<double> onset_s; ///< marked by a dashed line
};

struct EventPlot {
    std::string title;
    double from_s = 0.0, to_s = 0.0;
    std::string spectrogram; ///< bytes of a PNG, 0 to high_hz; may be empty
    double spectrogram_from_s = 0.0, spectrogram_to_s = 0.0; ///< time that it spans
    std::string spectrogram_name;                            ///< of its channel
    std::optional<double> onset_s;                           ///< on that channel
    double high_hz = 0.0;
    std::vector<EventLane> lanes;
    std::string time_axis, frequency_axis; ///< words
};

/// One time axis below all; `data-from`, `data-to`, `data-left` and `data-right` of the element say
/// to a script where time lies on it.
[[nodiscard]] std::string event_plot_svg(const EventPlot& plot);

} // namespace lull
