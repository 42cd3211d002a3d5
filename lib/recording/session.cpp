// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/session.hpp"

#include "error.hpp"
#include "recording/channel_name.hpp"
#include "recording/named_file.hpp"
#include "recording/start_time.hpp"
#include "recording/strict_json.hpp"
#include "recording/written_time.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {
namespace {

constexpr int most_tracks_in_file = 64;
constexpr int most_recordings = 100000;
constexpr std::size_t most_channels = 64;
const std::vector<std::string> kinds{"seismic", "air", "unknown"};
const std::vector<std::string> sensitivity_units{"V/(m/s)", "V/(m/s^2)", "V/Pa"};

Position read_position(const JsonObject& in, const char* key) {
    const std::vector<double> values = in.numbers(key, 3);
    return {values[0], values[1], values[2]};
}

Sensitivity read_sensitivity(const JsonObject& in) {
    const JsonObject object = in.object("sensitivity");
    object.allow_only({"value", "unit"});
    Sensitivity sensitivity;
    sensitivity.value = object.number("value", 1e-12, 1e12);
    sensitivity.unit = static_cast<SensitivityUnit>(object.word("unit", sensitivity_units));
    return sensitivity;
}

int read_polarity(const JsonObject& in) {
    const int polarity = in.whole("polarity", -1, 1);
    if (polarity == 0) in.fail("polarity", "0 is no polarity", "give 1 or -1");
    return polarity;
}

Channel read_channel(const JsonObject& in) {
    in.allow_only({"name", "kind", "recording", "track", "axis", "mount", "polarity", "position_m",
                   "position_sigma_m", "sensitivity", "full_scale_V", "gain_dB", "recorded_through",
                   "clock_offset_s", "clock_drift_ppm"});
    Channel channel;
    channel.name = in.text("name");
    if (const std::string fault = fault_of_name(channel.name); !fault.empty())
        in.fail("name", fault, channel_name_rule);
    channel.kind = static_cast<ChannelKind>(in.word("kind", kinds));
    if (in.has("recording")) channel.recording = in.whole("recording", 1, most_recordings);
    channel.track = in.whole("track", 1, most_tracks_in_file);
    if (in.has("axis")) channel.axis = in.text("axis");
    if (in.has("mount")) channel.mount = in.text("mount");
    if (in.has("recorded_through")) channel.recorded_through = in.text("recorded_through");
    if (in.has("polarity")) channel.polarity = read_polarity(in);
    if (in.has("position_m")) channel.position_m = read_position(in, "position_m");
    if (in.has("position_sigma_m"))
        channel.position_sigma_m = in.number("position_sigma_m", 0.0, 1e6);
    if (in.has("sensitivity")) channel.sensitivity = read_sensitivity(in);
    if (in.has("full_scale_V")) channel.full_scale_v = in.number("full_scale_V", 1e-9, 1e9);
    if (in.has("gain_dB")) channel.gain_db = in.number("gain_dB", -200.0, 200.0);
    if (in.has("clock_offset_s")) channel.clock_offset_s = in.number("clock_offset_s", -1e9, 1e9);
    if (in.has("clock_drift_ppm"))
        channel.clock_drift_ppm = in.number("clock_drift_ppm", -1e5, 1e5);
    return channel;
}

SessionRecording read_recording(const JsonObject& in, const std::string& session_file,
                                bool allow_outside) {
    in.allow_only({"file", "start", "clock_checks"});
    SessionRecording recording;
    recording.file = in.text("file");
    if (recording.file.empty()) in.fail("file", "is empty", "name an audio file");
    if (!allow_outside && leads_outside(session_file, recording.file))
        in.fail("file", "\"" + recording.file + "\" lies outside the session's folder",
                "move it there, or give --allow-outside");
    if (in.has("start")) recording.start = in.text("start");
    if (in.has("clock_checks"))
        for (const JsonObject& check : in.objects("clock_checks")) {
            check.allow_only({"recorder", "reference"});
            recording.clock_checks.push_back({check.number("recorder"), check.number("reference")});
        }
    return recording;
}

void read_from(const JsonObject& in, const StartTime& start, Change& change) {
    if (in.is_number("from")) {
        change.from_s = in.number("from", 0.0, 1e9);
        return;
    }
    const std::string text = in.text("from");
    const std::optional<WrittenTime> written = read_written_time(text);
    if (written && is_clock_time(*written)) change.from_clock = text;
    try {
        StartTime any = start; // any start serves to check whether the text is a time
        if (!any.unix_s) any.unix_s = 0.0;
        if (!any.utc_offset_s && !start.unix_s) any.utc_offset_s = 0;
        change.from_s = parse_time(text, any);
    } catch (const Error& fault) {
        in.fail("from", fault.fault, fault.mend);
    }
}

Change read_change(const JsonObject& in, const StartTime& start,
                   const std::vector<Channel>& channels) {
    in.allow_only({"from", "channel", "position_m", "position_sigma_m", "sensitivity",
                   "full_scale_V", "gain_dB", "polarity", "axis", "mount", "recorded_through",
                   "clock_offset_s", "clock_drift_ppm"});
    Change change;
    read_from(in, start, change);
    change.channel = in.text("channel");
    if (std::ranges::find(channels, change.channel, &Channel::name) == channels.end())
        in.fail("channel", "\"" + change.channel + "\" is not a channel of this session",
                "name one of its channels");
    if (in.has("position_m")) change.position_m = read_position(in, "position_m");
    if (in.has("position_sigma_m"))
        change.position_sigma_m = in.number("position_sigma_m", 0.0, 1e6);
    if (in.has("sensitivity")) change.sensitivity = read_sensitivity(in);
    if (in.has("full_scale_V")) change.full_scale_v = in.number("full_scale_V", 1e-9, 1e9);
    if (in.has("gain_dB")) change.gain_db = in.number("gain_dB", -200.0, 200.0);
    if (in.has("polarity")) change.polarity = read_polarity(in);
    if (in.has("axis")) change.axis = in.text("axis");
    if (in.has("mount")) change.mount = in.text("mount");
    if (in.has("recorded_through")) change.recorded_through = in.text("recorded_through");
    if (in.has("clock_offset_s")) change.clock_offset_s = in.number("clock_offset_s", -1e9, 1e9);
    if (in.has("clock_drift_ppm")) change.clock_drift_ppm = in.number("clock_drift_ppm", -1e5, 1e5);
    return change;
}

Propagation read_propagation(const JsonObject& in) {
    in.allow_only({"seismic_m_s", "air_temperature_C"});
    Propagation propagation;
    propagation.stated = true;
    if (in.has("seismic_m_s")) {
        const std::vector<double> speeds = in.numbers("seismic_m_s", 2);
        if (!(speeds[0] > 0.0 && speeds[0] <= speeds[1]))
            in.fail("seismic_m_s", "is not a range of speeds",
                    "give [lowest, highest], both above 0");
        propagation.seismic_m_s = {speeds[0], speeds[1]};
    }
    if (in.has("air_temperature_C"))
        propagation.air_temperature_c = in.number("air_temperature_C", -60.0, 80.0);
    return propagation;
}

Grid read_grid(const JsonObject& in) {
    in.allow_only({"origin_m", "cell_m", "columns", "rows", "bearing_deg", "north"});
    Grid grid;
    const std::vector<double> origin = in.numbers("origin_m", 2);
    grid.origin_m = {origin[0], origin[1]};
    grid.cell_m = in.number("cell_m", 1e-3, 1e5);
    grid.columns = in.whole("columns", 1, 702);
    grid.rows = in.whole("rows", 1, 10000);
    grid.bearing_deg = in.has("bearing_deg") ? in.number("bearing_deg", -360.0, 360.0) : 0.0;
    const std::vector<std::string> norths{"true", "magnetic", "site"};
    grid.north = norths[in.word("north", norths)];
    return grid;
}

void check_names(const std::vector<Channel>& channels, std::size_t recordings,
                 const std::string& path) {
    for (std::size_t i = 0; i < channels.size(); ++i) {
        for (std::size_t j = 0; j < i; ++j)
            if (channels[j].name == channels[i].name)
                throw_input(path, fmt::format("channels[{}].name", i),
                            "\"" + channels[i].name + "\" names two channels",
                            "give each its own name");
        if (channels[i].recording.value_or(1) > static_cast<int>(recordings))
            throw_input(path, fmt::format("channels[{}].recording", i),
                        fmt::format("there is no recording {}", *channels[i].recording),
                        fmt::format("give 1 to {}", recordings));
    }
}

} // namespace

Session load_session(const std::string& path, bool allow_outside) {
    const nlohmann::json json = load_json(path);
    const JsonObject in(json, path, "");
    if (!in.has("format") || in.text("format") != "lull-session")
        in.fail("format", "this is not a session file", R"(give "format": "lull-session")");
    if (in.whole("version", 0, 1 << 20) != 1)
        in.fail("version", "is not a version that this program reads", "give 1");
    in.allow_only({"format", "version", "label", "exhibit", "start", "time_zone", "start_sigma_s",
                   "mains_hz", "exercise", "recordings", "channels", "changes", "propagation",
                   "grid"});
    Session session;
    session.path = path;
    if (in.has("label")) session.label = in.text("label");
    if (in.has("exhibit")) session.exhibit = in.text("exhibit");
    if (in.has("start")) session.start = in.text("start");
    if (in.has("time_zone")) session.time_zone = in.text("time_zone");
    if (in.has("start_sigma_s")) session.start_sigma_s = in.number("start_sigma_s", 0.0, 1e9);
    if (in.has("mains_hz")) session.mains_hz = in.number("mains_hz", 10.0, 1000.0);
    if (in.has("exercise")) session.exercise = in.flag("exercise");
    for (const JsonObject& one : in.objects("recordings", most_recordings))
        session.recordings.push_back(read_recording(one, path, allow_outside));
    for (const JsonObject& one : in.objects("channels", most_channels))
        session.channels.push_back(read_channel(one));
    if (session.recordings.empty()) in.fail("recordings", "is empty", "name at least one file");
    if (session.channels.empty()) in.fail("channels", "is empty", "describe at least one channel");
    check_names(session.channels, session.recordings.size(), path);
    if (in.has("propagation")) session.propagation = read_propagation(in.object("propagation"));
    if (in.has("grid")) session.grid = read_grid(in.object("grid"));
    if (in.has("changes")) {
        const StartTime start = session_start(session);
        for (const JsonObject& one : in.objects("changes"))
            session.changes.push_back(read_change(one, start, session.channels));
        std::ranges::stable_sort(session.changes, {}, &Change::from_s);
    }
    return session;
}

Channel channel_at(const Session& session, const Channel& channel, double time_s) {
    Channel now = channel;
    for (const Change& change : session.changes) {
        if (change.from_s > time_s) break;
        if (change.channel != channel.name) continue;
        if (change.position_m) now.position_m = change.position_m;
        if (change.position_sigma_m) now.position_sigma_m = *change.position_sigma_m;
        if (change.sensitivity) now.sensitivity = change.sensitivity;
        if (change.full_scale_v) now.full_scale_v = change.full_scale_v;
        if (change.gain_db) now.gain_db = *change.gain_db;
        if (change.polarity) now.polarity = *change.polarity;
        if (change.axis) now.axis = *change.axis;
        if (change.mount) now.mount = *change.mount;
        if (change.recorded_through) now.recorded_through = *change.recorded_through;
        if (change.clock_offset_s) now.clock_offset_s = *change.clock_offset_s;
        if (change.clock_drift_ppm) now.clock_drift_ppm = *change.clock_drift_ppm;
    }
    return now;
}

} // namespace lull
