// SPDX-License-Identifier: GPL-3.0-or-later
//
// An event: the spectrogram of the channel that heard it best, and the waveforms of all that heard
// it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

/// A waveform reduced for a picture: its extremes in each of `waveform_columns` columns, in steps
/// of a sixteenth of its largest absolute sample.
struct WaveShape {
    std::vector<std::int8_t> low, high; ///< -16..16, low <= high
};

inline constexpr int waveform_columns = 280;

/// \param samples  any number; a constant offset is subtracted
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
    double spectrogram_from_s = 0.0, spectrogram_to_s = 0.0; ///< time range
    std::string spectrogram_name;                            ///< of its channel
    std::optional<double> onset_s;                           ///< on that channel
    double high_hz = 0.0;
    std::vector<EventLane> lanes;
    std::string time_axis, frequency_axis; ///< words
};

/// One time axis below all. The element's `data-from`, `data-to`, `data-left` and `data-right` give
/// scripts the position of the time axis.
[[nodiscard]] std::string event_plot_svg(const EventPlot& plot);

} // namespace lull
