// SPDX-License-Identifier: GPL-3.0-or-later
#include "exercise/exercise.hpp"

#include "exercise/exercise_signs.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr const char* truth_header = "time_s,end_s,kind,channel,x_m,y_m,z_m,snr_db,note\r\n";

/// A cell of RFC 4180; one that a spreadsheet would run gets an apostrophe in front.
std::string cell(std::string text) {
    if (!text.empty() && std::string("=+-@\t\r").find(text.front()) != std::string::npos)
        text.insert(0, "'");
    if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
    std::string quoted = "\"";
    for (const char letter : text)
        quoted += letter == '"' ? "\"\"" : std::string(1, letter);
    return quoted + "\"";
}

std::string note_of(const SceneEvent& event) {
    const DrawnEvent& drawn = event.drawn;
    std::string note = drawn.hail ? "hail: " : "";
    if (drawn.sound == Sound::knocks) {
        note += fmt::format("{} {} on {}", drawn.count, drawn.count == 1 ? "knock" : "knocks",
                            name_of(drawn.material));
    } else {
        note += name_of(drawn.sound);
    }
    if (!drawn.note.empty()) note += "; " + drawn.note;
    if (!event.reached) note += fmt::format("; target {:.1f} dB not reached", drawn.snr_db);
    return note;
}

std::string place_cells(const Position& place) {
    return fmt::format("{:.2f},{:.2f},{:.2f}", place[0], place[1], place[2]);
}

/// Times at which the recorder's day begins are the plan's; nothing else is said of time.
void add_time(nlohmann::ordered_json& session, const Plan& plan) {
    if (plan.start) session["start"] = *plan.start;
    if (!plan.time_zone.empty()) session["time_zone"] = plan.time_zone;
    if (plan.mains_hz) session["mains_hz"] = *plan.mains_hz;
}

double rounded(double value, double step) {
    return std::round(value / step) * step;
}

} // namespace

std::string session_text(const Plan& plan, std::uint64_t seed, int variant,
                         const std::string& recording_file) {
    nlohmann::ordered_json session;
    session["format"] = "lull-session";
    session["version"] = 1;
    session["label"] = plan.label.empty() ? "EXERCISE" : "EXERCISE: " + plan.label;
    session["exercise"] = true;
    add_time(session, plan);
    session["recordings"] = {{{"file", recording_file}}};
    const Random survey = Random(seed).child("survey").child(static_cast<std::uint64_t>(variant));
    for (std::size_t c = 0; c < plan.channels.size(); ++c) {
        const PlanChannel& channel = plan.channels[c];
        Random error = survey.child(c);
        nlohmann::ordered_json entry;
        entry["name"] = channel.name;
        entry["kind"] = channel.kind == ChannelKind::air ? "air" : "seismic";
        entry["track"] = c + 1;
        if (!channel.axis.empty()) entry["axis"] = channel.axis;
        if (!channel.mount.empty()) entry["mount"] = channel.mount;
        for (const double metres : channel.position_m) {
            entry["position_m"].push_back(
                rounded(metres + plan.position_sigma_m * error.normal(), 0.01));
        }
        entry["position_sigma_m"] = std::max(0.05, plan.position_sigma_m);
        session["channels"].push_back(entry);
    }
    // What a team would write down before it knows: a range about the site's speeds, not the speed
    // drawn.
    const Range speed = plan.structure.speed_m_s;
    session["propagation"] = {
        {"seismic_m_s", {rounded(0.6 * speed.low, 10.0), rounded(1.6 * speed.high, 10.0)}},
        {"air_temperature_C", plan.air.temperature_c}};
    return session.dump(2) + "\n";
}

std::string truth_text(const Scene& scene) {
    std::string text = truth_header;
    for (const SceneEvent& event : scene.events()) {
        text +=
            fmt::format("{:.6f},{:.6f},{},{},{},{:.1f},{}\r\n", event.onset_s, event.end_s,
                        name_of(event.kind), cell(scene.plan().channels[event.best].name),
                        place_cells(event.drawn.position_m), event.snr_db, cell(note_of(event)));
    }
    return text;
}

std::string surroundings_text(const Scene& scene) {
    struct Row {
        double time_s;
        std::string text;
    };
    const Plan& plan = scene.plan();
    std::vector<Row> rows;
    const auto add = [&](double from_s, double to_s, const std::string& what,
                         const std::string& rest) {
        rows.push_back({from_s, fmt::format("{:.6f},{:.6f},{},{}\r\n", from_s, to_s, what, rest)});
    };
    scene.list_site_sounds(0.0, plan.duration_s, [&](const SiteSound& sound) {
        add(sound.time_s, sound.end_s, name_of(sound.kind),
            fmt::format("{},{},,site", cell(plan.channels[sound.channel].name),
                        place_cells(sound.position_m)));
    });
    for (const PlannedQuiet& quiet : plan.quiet_periods) {
        add(quiet.from_s, std::min(quiet.to_s, plan.duration_s), "quiet", ",,,,,quiet ordered");
    }
    for (const PlanFault& fault : plan.faults) {
        add(fault.from_s, std::min(fault.to_s, plan.duration_s), "fault",
            fmt::format("{},,,,,{}", cell(fault.channel), name_of(fault.kind)));
    }
    add(0.0, exercise_sign_s, "sign", ",,,,,exercise sign");
    add(plan.duration_s - exercise_sign_s, plan.duration_s, "sign", ",,,,,exercise sign");
    std::stable_sort(rows.begin(), rows.end(),
                     [](const Row& a, const Row& b) { return a.time_s < b.time_s; });
    std::string text = truth_header;
    for (const Row& row : rows)
        text += row.text;
    return text;
}

std::string notes_text(const Scene& scene, std::uint64_t seed, int variant) {
    const Plan& plan = scene.plan();
    std::string text =
        fmt::format("EXERCISE, for the instructor. Seed {}, variant {}.\n", seed, variant);
    if (!plan.label.empty()) text += fmt::format("{}\n", plan.label);
    if (!plan.difficulty.empty()) text += fmt::format("Difficulty: {}\n", plan.difficulty);
    const bool cries =
        std::any_of(scene.events().begin(), scene.events().end(), [](const SceneEvent& event) {
            return event.drawn.sound == Sound::cry || event.drawn.sound == Sound::scream;
        });
    if (cries)
        text += "WARNING: cries or screams are in it. Tell people before you play it, and let "
                "anyone leave.\n";
    text += fmt::format("Playback limit: no sample above {:.0f} dB re full scale. Set the level "
                        "with the tones at the start.\n",
                        playback_limit_db);
    text += fmt::format(
        "Speed of waves in the structure: {:.0f} m/s at {:.0f} Hz; of sound {:.1f} m/s.\n\n",
        scene.layout().speed_m_s, reference_hz, sound_speed_m_s(plan.air.temperature_c));
    text += "Channels (contact: 0 hardly touching, 1 ideal)\n";
    for (std::size_t c = 0; c < plan.channels.size(); ++c) {
        text +=
            fmt::format("  {}: contact {:.2f}", plan.channels[c].name, scene.layout().contact[c]);
        for (const PlanFault& fault : plan.faults) {
            if (fault.channel == plan.channels[c].name)
                text += fmt::format("; {}", name_of(fault.kind));
        }
        text += "\n";
    }
    text += "\nEvents (time of the first arrival; SNR on the best channel)\n";
    for (const SceneEvent& event : scene.events()) {
        text += fmt::format("  {:10.3f} s  {:<24} {:<16} {:5.1f} dB\n", event.onset_s,
                            note_of(event), plan.channels[event.best].name, event.snr_db);
    }
    if (scene.events().empty())
        text += "  none: nobody is there. Whatever is heard is the site's own.\n";
    text += "\nWhat else is to be heard is in surroundings.csv.\n";
    return text;
}

} // namespace lull
