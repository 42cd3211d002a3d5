// SPDX-License-Identifier: GPL-3.0-or-later
//
// A unit's result from a file, and its use. The bytes are taken as the last unit of a recording,
// checked against it, joined to a unit before them, and judged as in a review. Real unit files have
// digests before them, but whoever writes such a file can write these too.
#include "detect/alarms.hpp"
#include "detect/horns.hpp"
#include "detect/join.hpp"
#include "detect/series.hpp"
#include "health/health.hpp"
#include "recording/virtual_recording.hpp"
#include "review/analysis.hpp"
#include "review/internal/unit_check.hpp"
#include "review/internal/unit_form.hpp"
#include "review/joining.hpp"
#include "review/review_folder.hpp"

#include <cmath>
#include <cstdint>
#include <stdexcept>
#include <string_view>

namespace lull {
namespace {

constexpr double rate_hz = 4000.0;
constexpr double length_s =
    304.0; ///< as tests/fuzz/make_corpus.py makes the recording of the corpus

/// Two channels of noise and a few knocks.
float sample(int channel, Frame frame) {
    std::uint64_t x = static_cast<std::uint64_t>(frame) * 2 + static_cast<std::uint64_t>(channel);
    x = (x ^ (x >> 31U)) * 0x9E3779B97F4A7C15ULL;
    x = (x ^ (x >> 29U)) * 0xBF58476D1CE4E5B9ULL;
    const double noise = static_cast<double>(x >> 11U) / 9007199254740992.0 - 0.5;
    const double t = static_cast<double>(frame % 100000) / rate_hz;
    const double knock = t < 0.2 ? 0.2 * std::exp(-t / 0.03) * std::sin(2200.0 * t) : 0.0;
    return static_cast<float>(0.01 * noise + knock);
}

struct Before {
    test::VirtualRecording recording{2, rate_hz, static_cast<Frame>(length_s* rate_hz), sample};
    Settings settings = make_settings(recording, "", "", std::nullopt);
    std::vector<Unit> units = plan_units(recording.frames, rate_hz, settings.from, settings.to);
    UnitCheck check{recording, settings, review_wants};
    UnitResult first =
        UnitPass(recording, settings, review_wants).run(units.front(), std::atomic<bool>(false));
};

/// What analyse() makes of joined units, as far as it needs no samples.
void judge(const Before& before, UnitResult whole) {
    std::vector<Event> events =
        join_events(std::move(whole.arrivals), before.recording.session, before.recording.channels);
    std::vector<Series> series = find_series(events);
    tell_alarms(events, before.settings.horns);
    judge_horn_signals(events, before.settings.horns);
    list_from(before.settings, events, series);
    static_cast<void>(findings(whole.health, rate_hz));
    static_cast<void>(mean_floors(whole.courses, before.recording));
    for (std::size_t c = 0; c < whole.levels.size(); ++c)
        static_cast<void>(whole.levels[c].levels(static_cast<int>(c), rate_hz));
}

} // namespace
} // namespace lull

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    static const Before before;
    UnitResult result;
    try {
        result = unit_of_bytes({reinterpret_cast<const char*>(bytes), size});
    } catch (const std::runtime_error&) {
        return 0;
    }
    static_cast<void>(bytes_of_unit(result));
    if (!before.check.passes(result, before.units.back())) return 0;
    UnitResult whole = before.first;
    join(whole, UnitResult(result));
    judge(before, std::move(whole));
    judge(before, std::move(result));
    return 0;
}
