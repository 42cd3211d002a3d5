// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/settings.hpp"

#include "error.hpp"
#include "recording/start_time.hpp"

#include <fmt/format.h>

#include <cmath>

namespace lull {
namespace {

Frame frame_at(const Recording& recording, const std::string& text, Frame otherwise) {
    if (text.empty()) return otherwise;
    const double time_s = parse_time(text, recording.start);
    return static_cast<Frame>(std::llround(time_s * recording.rate_hz));
}

} // namespace

Settings make_settings(const Recording& recording, const std::string& from, const std::string& to,
                       std::optional<std::pair<double, double>> band) {
    Settings settings;
    settings.band = band ? Band{band->first, band->second} : default_band(recording.rate_hz);
    const double half_rate_hz = recording.rate_hz / 2.0;
    if (!(settings.band.low_hz > 0.0 && settings.band.low_hz < settings.band.high_hz &&
          settings.band.high_hz < half_rate_hz))
        throw_usage(fmt::format("the analysis band {:g}-{:g} Hz does not fit a rate of {:g} Hz",
                                settings.band.low_hz, settings.band.high_hz, recording.rate_hz),
                    fmt::format("give --band LO-HI with 0 < LO < HI < {:g}", half_rate_hz));
    settings.from = frame_at(recording, from, 0);
    settings.to = frame_at(recording, to, recording.frames);
    if (settings.from < 0 || settings.from >= settings.to || settings.from >= recording.frames)
        throw_usage(
            fmt::format("--from {:.3f} s to --to {:.3f} s holds nothing of the recording",
                        recording.seconds(settings.from), recording.seconds(settings.to)),
            fmt::format("give --from before --to, within 0 to {:.3f} s", recording.duration_s()));
    settings.to = std::min(settings.to, recording.frames);
    return settings;
}

} // namespace lull
