// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exercise plan: which sounds, where, how strong, and in which site noise. The file's format is
// data/schema/plan.schema.json.
#pragma once

#include "recording/channel.hpp"

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace lull {

/// A fixed number, or a range from which the seed draws (in the file: 3 or [2, 5]).
struct Range {
    double low = 0.0, high = 0.0;
    Range(double fixed = 0.0) : low(fixed), high(fixed) {}
    Range(double from, double to) : low(from), high(to) {}
};

enum class Sound { knocks, scratching, movement, call, murmur, cry, scream, speech, horn, whistle };
enum class Material { concrete, steel, pipe, timber, brick };
enum class Spreading {
    body,    ///< 6 dB per doubling of distance
    surface, ///< 3 dB per doubling
};
enum class LayerKind {
    ambient,
    traffic,
    rain,
    wind,
    generator,
    drips,
    clock,
    footsteps,
    hand_tools,
    breaker,
    radio,
    debris,
    noise ///< the third octaves that the plan lists
};
enum class FaultKind { clipping, dropouts, hum, dead, badly_seated, clock_drift, wrong_polarity };

[[nodiscard]] const char* name_of(Sound sound);       ///< as in the file: "knocks"
[[nodiscard]] const char* name_of(Material material); ///< "concrete"
[[nodiscard]] const char* name_of(LayerKind kind);    ///< "hand-tools"
[[nodiscard]] const char* name_of(FaultKind kind);    ///< "badly-seated"

struct PlanChannel {
    std::string name;
    ChannelKind kind = ChannelKind::seismic; ///< seismic or air
    Position position_m{};
    std::string axis, mount;      ///< copied to the session file
    Range contact{1.0};           ///< 0 (hardly touching) .. 1 (ideal, flat); seismic only
    double gain_db = 0.0;         ///< of the amplifier, applied to the sensor's signal
    double self_noise_db = -96.0; ///< noise of sensor and recorder in the band, dB re full scale
};

/// Waves in the structure. Amplitude = (1 m / distance)^p * exp(-pi f t / Q), t = travel time.
struct Structure {
    Range speed_m_s{1500.0};   ///< at reference_hz
    double speed_spread = 0.0; ///< standard deviation between paths, relative to the speed
    Spreading spreading = Spreading::body;
    double quality = 40.0;            ///< Q; 0: no absorption
    std::optional<double> dispersion; ///< change of speed per e-fold of frequency; default 1/(pi Q)
    double tail_db = -6.0; ///< energy of the scattered tail relative to the direct wave at 10 m
    double tail_decay_s = 0.12; ///< time in which the tail falls 60 dB; 0: no tail
};

/// Waves in the air of cavities.
struct Air {
    double temperature_c = 15.0;
    double absorption_db_m =
        0.0; ///< from obstruction, dB per metre at 1 kHz, proportional to frequency
    double tail_db = -10.0;
    double tail_decay_s = 0.35;
};

struct PlanEvent {
    std::vector<Sound> kinds; ///< one is drawn
    int repeat = 1;           ///< number of such events
    Range time_s;             ///< of the source's first sample
    std::array<Range, 3> position_m;
    Range snr_db{12.0}; ///< on its best channel, as defined in snr.hpp; >= 3
    std::vector<Material> materials{Material::concrete}; ///< knocks: one is drawn
    Range count{3.0};                                    ///< knocks
    Range interval_s{0.6};                               ///< knocks: from one to the next
    double unevenness = 0.06; ///< knocks: standard deviation of the interval, relative
    Range duration_s{0.0};    ///< of lasting sounds; 0: default of the kind
    std::string file;         ///< speech: an audio file, relative to the plan
    bool hail = false;        ///< one of the team's own
    std::string note;         ///< copied to the truth
};

struct SiteLayer {
    LayerKind kind = LayerKind::ambient;
    std::optional<Position>
        position_m;        ///< a source there (coherent over channels); empty: no place
    Range level_db{-60.0}; ///< in the band, dB re full scale, on the channel where it is loudest
    std::optional<double> air_level_db; ///< on microphones, if different (layers without a place)
    std::vector<std::string> channels;  ///< empty: all
    double from_s = 0.0;
    double to_s = std::numeric_limits<double>::infinity();
    bool stops_in_quiet = false;      ///< falls by the quiet period's drop_db
    std::optional<double> interval_s; ///< drips, clock: from one to the next
    double speed_hz = 25.0;           ///< generator: revolutions per second
    std::vector<std::array<double, 2>>
        third_octaves; ///< noise: nominal mid-band Hz, level dB re full scale
};

struct PlannedQuiet {
    double from_s = 0.0, to_s = 0.0;
    double drop_db = 30.0; ///< of the layers that stop
};

/// A sensor that is moved, seated again or gets another gain. Other properties stay.
struct PlanChange {
    double from_s = 0.0;
    std::string channel;
    std::optional<Position> position_m;
    std::optional<Range> contact;
    std::optional<double> gain_db;
};

struct PlanFault {
    FaultKind kind = FaultKind::clipping;
    std::string channel;
    double from_s = 0.0;
    double to_s = std::numeric_limits<double>::infinity();
    double level_db = -3.0;  ///< clipping: clipped level; hum: in the band, dB re full scale
    double gain_db = 20.0;   ///< clipping: excess gain
    double mains_hz = 50.0;  ///< hum
    double per_minute = 6.0; ///< dropouts
    double length_s = 0.05;  ///< dropouts: mean
    double contact = 0.1;    ///< badly seated: 0..1
    double drift_ppm = 20.0; ///< clock drift: the recorder's clock is fast by this
    double offset_s = 0.0;   ///< clock drift: and ahead by this at the start
};

/// Formats of the trainee's recording.
enum class RecordingFormat { wav_16, wav_24, flac_16, flac_24 };

struct Plan {
    std::string path;         ///< of the file; empty: parsed from text
    std::string label;        ///< copied to the session; must reveal nothing
    std::string difficulty;   ///< in words, for the instructor
    double rate_hz = 16000.0; ///< 4000..192000
    double duration_s = 60.0;
    std::uint64_t seed = 1;
    std::optional<std::string> start; ///< ISO 8601
    std::string time_zone;
    std::optional<double> mains_hz;
    double position_sigma_m = 0.0; ///< error of the positions in the trainee's session
    RecordingFormat format = RecordingFormat::wav_16;
    Structure structure;
    Air air;
    std::vector<PlanChannel> channels;
    std::vector<PlanChange> changes; ///< in order of time
    std::vector<SiteLayer> site;
    std::vector<PlannedQuiet> quiet_periods;
    std::vector<PlanEvent> events;
    std::vector<PlanFault> faults;
};

/// Reads and checks a plan. Unknown keys are refused with the nearest known key.
/// \throws Error(input) with the JSON path of the fault as its place
[[nodiscard]] Plan load_plan(const std::string& path);

/// The same for a text. `path` is used in messages and to find files that the plan names.
[[nodiscard]] Plan parse_plan(const std::string& text, const std::string& path);

} // namespace lull
