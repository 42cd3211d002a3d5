// SPDX-License-Identifier: GPL-3.0-or-later
//
// An exercise plan: what is to be heard, where, how strong, against which site noise.
// The file's form is data/schema/plan.schema.json.
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
    noise ///< noise: of the third octaves that the plan lists
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
    std::string axis, mount;      ///< go into the session file as they are
    Range contact{1.0};           ///< 0 (hardly touching) .. 1 (ideal, flat); seismic only
    double gain_db = 0.0;         ///< of the amplifier: applied to what the sensor hears
    double self_noise_db = -96.0; ///< of sensor and recorder in the band, dB re full scale
};

/// Waves in the structure. Amplitude = (1 m / distance)^p * exp(-pi f t / Q), t = travel time.
struct Structure {
    Range speed_m_s{1500.0};   ///< at reference_hz
    double speed_spread = 0.0; ///< standard deviation from path to path, share of the speed
    Spreading spreading = Spreading::body;
    double quality = 40.0; ///< Q; 0: no absorption
    std::optional<double>
        dispersion;             ///< change of speed per e-fold of frequency; 1/(pi Q) if left out
    double tail_db = -6.0;      ///< energy of the scattered tail over the direct wave's at 10 m
    double tail_decay_s = 0.12; ///< time in which the tail falls 60 dB; 0: no tail
};

/// Waves in the air of the voids.
struct Air {
    double temperature_c = 15.0;
    double absorption_db_m =
        0.0; ///< by obstruction, dB per metre at 1 kHz, in proportion to frequency
    double tail_db = -10.0;
    double tail_decay_s = 0.35;
};

struct PlanEvent {
    std::vector<Sound> kinds; ///< one is drawn
    int repeat = 1;           ///< how many such events are drawn
    Range time_s;             ///< of the source's first sample
    std::array<Range, 3> position_m;
    Range snr_db{12.0}; ///< on its best channel, by the definition in snr.hpp; >= 3
    std::vector<Material> materials{Material::concrete}; ///< knocks: one is drawn
    Range count{3.0};                                    ///< knocks
    Range interval_s{0.6};                               ///< knocks: between one and the next
    double unevenness = 0.06; ///< knocks: standard deviation of the interval, share of it
    Range duration_s{0.0};    ///< what lasts; 0: usual for its kind
    std::string file;         ///< speech: an audio file, relative to the plan
    bool hail = false;        ///< the team's own
    std::string note;         ///< goes into the truth
};

struct SiteLayer {
    LayerKind kind = LayerKind::ambient;
    std::optional<Position>
        position_m;        ///< a source there (coherent over channels); none: all around
    Range level_db{-60.0}; ///< in the band, dB re full scale, on the channel where it is loudest
    std::optional<double> air_level_db; ///< on microphones, when it differs (diffuse layers)
    std::vector<std::string> channels;  ///< empty: all
    double from_s = 0.0;
    double to_s = std::numeric_limits<double>::infinity();
    bool stops_in_quiet = false;      ///< falls by the quiet period's drop_db
    std::optional<double> interval_s; ///< drips, clock: between one and the next
    double speed_hz = 25.0;           ///< generator: turns per second
    std::vector<std::array<double, 2>>
        third_octaves; ///< noise: nominal mid-band Hz, level dB re full scale
};

struct PlannedQuiet {
    double from_s = 0.0, to_s = 0.0;
    double drop_db = 30.0; ///< of the layers that stop
};

/// A sensor that is moved, seated anew or amplified otherwise; the rest stays as it was.
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
    double level_db = -3.0;  ///< clipping: of the flat top; hum: in the band, dB re full scale
    double gain_db = 20.0;   ///< clipping: too much of it
    double mains_hz = 50.0;  ///< hum
    double per_minute = 6.0; ///< dropouts
    double length_s = 0.05;  ///< dropouts: mean
    double contact = 0.1;    ///< badly seated: 0..1
    double drift_ppm = 20.0; ///< clock drift: the recorder's clock runs fast by this
    double offset_s = 0.0;   ///< clock drift: and is ahead by this at the start
};

/// Formats of the trainee's recording.
enum class RecordingFormat { wav_16, wav_24, flac_16, flac_24 };

struct Plan {
    std::string path;         ///< of the file; empty: made in memory
    std::string label;        ///< goes into the session: give nothing away
    std::string difficulty;   ///< in words, for the instructor
    double rate_hz = 16000.0; ///< 4000..192000
    double duration_s = 60.0;
    std::uint64_t seed = 1;
    std::optional<std::string> start; ///< ISO 8601
    std::string time_zone;
    std::optional<double> mains_hz;
    double position_sigma_m = 0.0; ///< error of the positions that the trainee's session states
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

/// Reads and checks a plan. Unknown keys are refused naming the nearest known one.
/// \throws Error(input) with the JSON path of the fault as place.
[[nodiscard]] Plan load_plan(const std::string& path);

/// The same from text; `path` is used in messages and for files named in the plan.
[[nodiscard]] Plan parse_plan(const std::string& text, const std::string& path);

} // namespace lull
