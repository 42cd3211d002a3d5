// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/plan.hpp"

#include "error.hpp"
#include "recording/channel_name.hpp"
#include "recording/named_file.hpp"
#include "recording/session.hpp"
#include "recording/start_time.hpp"
#include "recording/strict_json.hpp"
#include "synthesis/internal/plan_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace lull {

namespace {

constexpr double longest_s = 7.0 * 86400.0;
constexpr std::size_t most_channels = 64;

void check_channel_name(PlanReader& reader, const char* key, const Plan& plan,
                        const std::string& name) {
    std::vector<std::string> names;
    for (const auto& channel : plan.channels)
        names.push_back(channel.name);
    if (std::find(names.begin(), names.end(), name) != names.end()) return;
    reader.fail(key, fmt::format("no channel \"{}\"", name),
                fmt::format("did you mean \"{}\"?", nearest_word(name, names)));
}

void read_span(PlanReader& reader, double& from_s, double& to_s) {
    from_s = reader.number("from_s", from_s, 0.0, longest_s);
    to_s = reader.number("to_s", to_s, 0.0, longest_s);
    if (!(to_s > from_s)) reader.fail("to_s", "not after from_s", "");
}

PlanChannel read_channel(PlanReader& reader, const Plan& plan) {
    PlanChannel channel;
    reader.need("name");
    channel.name = reader.text("name", "");
    if (const std::string fault = fault_of_name(channel.name); !fault.empty())
        reader.fail("name", fault, channel_name_rule);
    for (const auto& other : plan.channels) {
        if (other.name == channel.name) reader.fail("name", "used twice", "one name per channel");
    }
    channel.kind =
        enum_of<ChannelKind>(reader, "kind", reader.text("kind", "seismic"), sensor_words);
    if (channel.kind == ChannelKind::unknown) reader.fail("kind", "unknown", "seismic or air");
    channel.position_m = reader.position("position_m");
    channel.axis = reader.text("axis", "");
    channel.mount = reader.text("mount", "");
    channel.contact = reader.range("contact", 1.0, 0.0, 1.0);
    channel.gain_db = reader.number("gain_db", 0.0, -60.0, 60.0);
    channel.self_noise_db = reader.number("self_noise_db", channel.self_noise_db, -160.0, -20.0);
    return channel;
}

void read_medium(PlanReader& reader, Structure& structure, Air& air) {
    if (auto in = reader.object("structure")) {
        structure.speed_m_s = in->range("speed_m_s", structure.speed_m_s, 50.0, 8000.0);
        structure.speed_spread = in->number("speed_spread", 0.0, 0.0, 0.5);
        structure.spreading =
            enum_of<Spreading>(*in, "spreading", in->text("spreading", "body"), spreading_words);
        structure.quality = in->number("quality", structure.quality, 0.0, 1e6);
        if (in->has("dispersion")) structure.dispersion = in->number("dispersion", 0.0, -0.3, 0.3);
        structure.tail_db = in->number("tail_db", structure.tail_db, -60.0, 20.0);
        structure.tail_decay_s = in->number("tail_decay_s", structure.tail_decay_s, 0.0, 3.0);
        in->finish();
    }
    if (auto in = reader.object("air")) {
        air.temperature_c = in->number("temperature_c", air.temperature_c, -50.0, 60.0);
        air.absorption_db_m = in->number("absorption_db_m", 0.0, 0.0, 20.0);
        air.tail_db = in->number("tail_db", air.tail_db, -60.0, 20.0);
        air.tail_decay_s = in->number("tail_decay_s", air.tail_decay_s, 0.0, 3.0);
        in->finish();
    }
    reader.finish();
}

PlanEvent read_event(PlanReader& reader, const Plan& plan) {
    PlanEvent event;
    reader.need("kind");
    for (const auto& word : reader.texts("kind")) {
        event.kinds.push_back(enum_of<Sound>(reader, "kind", word, sound_words));
    }
    event.repeat = static_cast<int>(reader.number("repeat", 1, 1, 100000));
    reader.need("time_s");
    event.time_s = reader.range("time_s", 0.0, 0.0, plan.duration_s);
    event.position_m = reader.ranges3("position_m");
    event.snr_db = reader.range("snr_db", event.snr_db, 3.0, 60.0);
    if (reader.has("material")) {
        event.materials.clear();
        for (const auto& word : reader.texts("material")) {
            event.materials.push_back(enum_of<Material>(reader, "material", word, material_words));
        }
    }
    event.count = reader.range("count", event.count, 1, 50);
    event.interval_s = reader.range("interval_s", event.interval_s, 0.1, 10.0);
    event.unevenness = reader.number("unevenness", event.unevenness, 0.0, 0.4);
    event.duration_s = reader.range("duration_s", 0.0, 0.1, 15.0);
    event.file = reader.text("file", "");
    if (!event.file.empty() && leads_outside(plan.path, event.file))
        reader.fail("file", "\"" + event.file + "\" lies outside the plan's folder",
                    "move it there");
    const bool speaks =
        std::find(event.kinds.begin(), event.kinds.end(), Sound::speech) != event.kinds.end();
    if (speaks && event.file.empty())
        reader.fail("file", "is missing", "kind speech needs an audio file");
    event.hail = reader.flag("hail", false);
    event.note = reader.text("note", "");
    return event;
}

void read_third_octaves(PlanReader& reader, SiteLayer& layer) {
    const auto& list = reader.node("third_octaves");
    if (!list.is_array() || list.size() < 2) {
        reader.fail("third_octaves", "too few", "a list of [mid-band Hz, level dB], at least two");
    }
    for (const auto& pair : list) {
        const bool fits =
            pair.is_array() && pair.size() == 2 && pair[0].is_number() && pair[1].is_number();
        if (!fits)
            reader.fail("third_octaves", pair.dump() + " does not fit", "[mid-band Hz, level dB]");
        layer.third_octaves.push_back({pair[0].get<double>(), pair[1].get<double>()});
        const auto& last = layer.third_octaves;
        const bool rising = last.size() < 2 || last.back()[0] > last[last.size() - 2][0];
        if (!(last.back()[0] > 0.0) || !rising) {
            reader.fail("third_octaves", pair.dump() + " out of order", "rising frequencies");
        }
    }
}

/// Whether ordered quiet usually stops such a layer.
bool usually_stops(LayerKind kind) {
    switch (kind) {
    case LayerKind::generator:
    case LayerKind::footsteps:
    case LayerKind::hand_tools:
    case LayerKind::breaker:
    case LayerKind::radio:
    case LayerKind::traffic:
        return true;
    default:
        return false;
    }
}

SiteLayer read_layer(PlanReader& reader, const Plan& plan) {
    SiteLayer layer;
    reader.need("kind");
    layer.kind = enum_of<LayerKind>(reader, "kind", reader.text("kind", ""), layer_words);
    if (reader.has("position_m")) layer.position_m = reader.position("position_m");
    layer.level_db = reader.range("level_db", layer.level_db, -140.0, -10.0);
    if (reader.has("air_level_db"))
        layer.air_level_db = reader.number("air_level_db", 0.0, -140.0, -10.0);
    layer.channels = reader.texts("channels");
    for (const auto& name : layer.channels)
        check_channel_name(reader, "channels", plan, name);
    read_span(reader, layer.from_s, layer.to_s);
    layer.stops_in_quiet = reader.flag("stops_in_quiet", usually_stops(layer.kind));
    if (reader.has("interval_s")) layer.interval_s = reader.number("interval_s", 1.0, 0.05, 3600.0);
    layer.speed_hz = reader.number("speed_hz", layer.speed_hz, 5.0, 200.0);
    if (layer.kind == LayerKind::noise) read_third_octaves(reader, layer);
    return layer;
}

PlanChange read_change(PlanReader& reader, const Plan& plan) {
    PlanChange change;
    reader.need("from_s");
    reader.need("channel");
    change.from_s = reader.number("from_s", 0.0, 0.0, plan.duration_s);
    change.channel = reader.text("channel", "");
    check_channel_name(reader, "channel", plan, change.channel);
    if (!plan.changes.empty() && change.from_s < plan.changes.back().from_s)
        reader.fail("from_s", "lies before the change above", "changes in order of time");
    if (reader.has("position_m")) change.position_m = reader.position("position_m");
    if (reader.has("contact")) change.contact = reader.range("contact", 1.0, 0.0, 1.0);
    if (reader.has("gain_db")) change.gain_db = reader.number("gain_db", 0.0, -60.0, 60.0);
    return change;
}

PlanFault read_fault(PlanReader& reader, const Plan& plan) {
    PlanFault fault;
    reader.need("kind");
    reader.need("channel");
    fault.kind = enum_of<FaultKind>(reader, "kind", reader.text("kind", ""), fault_words);
    fault.channel = reader.text("channel", "");
    check_channel_name(reader, "channel", plan, fault.channel);
    read_span(reader, fault.from_s, fault.to_s);
    const double usual = fault.kind == FaultKind::hum ? -40.0 : fault.level_db;
    fault.level_db = reader.number("level_db", usual, -140.0, -3.0);
    fault.gain_db = reader.number("gain_db", fault.gain_db, 0.0, 80.0);
    fault.mains_hz = reader.number("mains_hz", plan.mains_hz.value_or(50.0), 15.0, 400.0);
    fault.per_minute = reader.number("per_minute", fault.per_minute, 0.01, 600.0);
    fault.length_s = reader.number("length_s", fault.length_s, 0.001, 10.0);
    fault.contact = reader.number("contact", fault.contact, 0.0, 1.0);
    fault.drift_ppm = reader.number("drift_ppm", fault.drift_ppm, -2000.0, 2000.0);
    fault.offset_s = reader.number("offset_s", fault.offset_s, -5.0, 5.0);
    return fault;
}

/// Checks that the trainee's session can state the start.
void check_start(const Plan& plan) {
    Session session;
    session.path = plan.path;
    session.start = plan.start;
    session.time_zone = plan.time_zone;
    (void)session_start(session);
}

void read_top(PlanReader& reader, Plan& plan) {
    if (reader.text("format", "") != "lull-plan")
        reader.fail("format", "not a plan", "\"lull-plan\"");
    if (reader.number("version", 0, 0, 1e6) != 1) reader.fail("version", "not known", "1");
    plan.label = reader.text("label", "");
    plan.difficulty = reader.text("difficulty", "");
    reader.need("duration_s");
    plan.rate_hz = reader.number("rate_hz", plan.rate_hz, 4000.0, 192000.0);
    if (plan.rate_hz != static_cast<double>(static_cast<int>(plan.rate_hz))) {
        reader.fail("rate_hz", "not whole", "a whole number of frames per second");
    }
    plan.duration_s = reader.number("duration_s", plan.duration_s, 4.0, longest_s);
    plan.seed = static_cast<std::uint64_t>(reader.number("seed", 1, 0, 9e15));
    if (reader.has("start")) plan.start = reader.text("start", "");
    plan.time_zone = reader.text("time_zone", "");
    check_start(plan);
    if (reader.has("mains_hz")) plan.mains_hz = reader.number("mains_hz", 50.0, 15.0, 400.0);
    plan.position_sigma_m = reader.number("position_sigma_m", 0.0, 0.0, 100.0);
    plan.format = enum_of<RecordingFormat>(reader, "recording", reader.text("recording", "wav-16"),
                                           format_words);
}

Plan plan_of(const nlohmann::json& root, const std::string& path) {
    Plan plan;
    plan.path = path;
    PlanReader reader(JsonObject(root, path, ""));
    read_top(reader, plan);
    if (auto medium = reader.object("medium")) read_medium(*medium, plan.structure, plan.air);
    reader.objects(
        "channels", [&](PlanReader& each) { plan.channels.push_back(read_channel(each, plan)); },
        most_channels);
    if (plan.channels.empty()) reader.fail("channels", "0 channels", "1 to 64");
    reader.objects("changes",
                   [&](PlanReader& each) { plan.changes.push_back(read_change(each, plan)); });
    reader.objects("site", [&](PlanReader& each) { plan.site.push_back(read_layer(each, plan)); });
    reader.objects("quiet_periods", [&](PlanReader& each) {
        PlannedQuiet quiet;
        each.need("to_s");
        read_span(each, quiet.from_s, quiet.to_s = longest_s);
        quiet.drop_db = each.number("drop_db", quiet.drop_db, 0.0, 120.0);
        plan.quiet_periods.push_back(quiet);
    });
    reader.objects("events",
                   [&](PlanReader& each) { plan.events.push_back(read_event(each, plan)); });
    reader.objects("faults",
                   [&](PlanReader& each) { plan.faults.push_back(read_fault(each, plan)); });
    reader.finish();
    return plan;
}

} // namespace

Plan parse_plan(const std::string& text, const std::string& path) {
    return plan_of(parse_json(text, path), path);
}

Plan load_plan(const std::string& path) {
    return plan_of(load_json(path), path);
}

} // namespace lull
