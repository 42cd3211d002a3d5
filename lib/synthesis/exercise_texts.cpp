// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/exercise.hpp"

#include "synthesis/exercise_signs.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace lull {

namespace {

constexpr const char* truth_header = "time_s,end_s,kind,channel,x_m,y_m,z_m,snr_db,note\r\n";

/// A cell of RFC 4180. A text that a spreadsheet would run gets an apostrophe in front.
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

struct SurroundingRow {
    double time_s;
    std::string text;
};

/// Rows are listed for this time at once, since an exercise may last for days.
constexpr double listed_at_once_s = 300.0;

std::string words_of(const PlanChange& change) {
    std::string words;
    const auto add = [&](const std::string& more) { words += (words.empty() ? "" : "; ") + more; };
    if (change.position_m) {
        const Position& p = *change.position_m;
        add(fmt::format("moved to {:.2f} {:.2f} {:.2f}", p[0], p[1], p[2]));
    }
    if (change.contact) add("seated anew");
    if (change.gain_db) add(fmt::format("gain {:.1f} dB", *change.gain_db));
    return words.empty() ? "touched" : words;
}

/// The plan gives the start of the recording, and nothing else about time.
void add_time(nlohmann::ordered_json& session, const Plan& plan) {
    if (plan.start) session["start"] = *plan.start;
    if (!plan.time_zone.empty()) session["time_zone"] = plan.time_zone;
    if (plan.mains_hz) session["mains_hz"] = *plan.mains_hz;
}

double rounded(double value, double step) {
    return std::round(value / step) * step;
}

/// A position with the error of the team's survey.
nlohmann::ordered_json surveyed(const Position& place, double sigma_m, Random error) {
    nlohmann::ordered_json stated;
    for (const double metres : place)
        stated.push_back(rounded(metres + sigma_m * error.normal(), 0.01));
    return stated;
}

/// What a team notes when it moves a sensor or changes a gain. It does not know the contact.
void add_changes(nlohmann::ordered_json& session, const Plan& plan, const Random& survey) {
    for (std::size_t i = 0; i < plan.changes.size(); ++i) {
        const PlanChange& change = plan.changes[i];
        if (!change.position_m && !change.gain_db) continue;
        nlohmann::ordered_json entry{{"from", change.from_s}, {"channel", change.channel}};
        if (change.position_m)
            entry["position_m"] = surveyed(*change.position_m, plan.position_sigma_m,
                                           survey.child("changes").child(i));
        if (change.gain_db) entry["gain_dB"] = *change.gain_db;
        session["changes"].push_back(entry);
    }
}

bool gain_is_turned(const Plan& plan, const std::string& channel) {
    return std::any_of(plan.changes.begin(), plan.changes.end(), [&](const PlanChange& change) {
        return change.channel == channel && change.gain_db;
    });
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
        nlohmann::ordered_json entry;
        entry["name"] = channel.name;
        entry["kind"] = channel.kind == ChannelKind::air ? "air" : "seismic";
        entry["track"] = c + 1;
        if (!channel.axis.empty()) entry["axis"] = channel.axis;
        if (!channel.mount.empty()) entry["mount"] = channel.mount;
        entry["position_m"] = surveyed(channel.position_m, plan.position_sigma_m, survey.child(c));
        entry["position_sigma_m"] = std::max(0.05, plan.position_sigma_m);
        if (gain_is_turned(plan, channel.name)) entry["gain_dB"] = channel.gain_db;
        session["channels"].push_back(entry);
    }
    add_changes(session, plan, survey);
    // What a team would write without measuring: a range round the site's speeds, not the drawn
    // speed.
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

void write_surroundings(const Scene& scene, const std::function<void(std::string_view)>& write) {
    const Plan& plan = scene.plan();
    std::vector<SurroundingRow> rows;
    const auto add = [&](double from_s, double to_s, const char* what, const std::string& rest) {
        rows.push_back({from_s, fmt::format("{:.6f},{:.6f},{},{}\r\n", from_s,
                                            std::min(to_s, plan.duration_s), what, rest)});
    };
    for (const PlannedQuiet& quiet : plan.quiet_periods)
        add(quiet.from_s, quiet.to_s, "quiet", ",,,,,quiet ordered");
    for (const PlanFault& fault : plan.faults)
        add(fault.from_s, fault.to_s, "fault",
            fmt::format("{},,,,,{}", cell(fault.channel), name_of(fault.kind)));
    for (const PlanChange& change : plan.changes)
        add(std::max(0.0, change.from_s - handling_s), change.from_s, "handling",
            fmt::format("{},,,,,{}", cell(change.channel), words_of(change)));
    add(0.0, exercise_sign_s, "sign", ",,,,,exercise sign");
    add(plan.duration_s - exercise_sign_s, plan.duration_s, "sign", ",,,,,exercise sign");
    const std::vector<SurroundingRow> planned = std::move(rows);
    write(truth_header);
    for (double from_s = 0.0; from_s < plan.duration_s; from_s += listed_at_once_s) {
        const double to_s = from_s + listed_at_once_s;
        rows.clear();
        scene.list_site_sounds(from_s, to_s, [&](const SiteSound& sound) {
            add(sound.time_s, sound.end_s, name_of(sound.kind),
                fmt::format("{},{},,site", cell(plan.channels[sound.channel].name),
                            place_cells(sound.position_m)));
        });
        for (const SurroundingRow& row : planned)
            if (row.time_s >= from_s && row.time_s < to_s) rows.push_back(row);
        std::stable_sort(rows.begin(), rows.end(),
                         [](const auto& a, const auto& b) { return a.time_s < b.time_s; });
        for (const SurroundingRow& row : rows)
            if (row.time_s < plan.duration_s) write(row.text);
    }
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
    for (std::size_t i = 0; i < plan.changes.size(); ++i) {
        const PlanChange& change = plan.changes[i];
        text += fmt::format("  {:10.3f} s  {}: {}; contact {:.2f} then\n", change.from_s,
                            change.channel, words_of(change),
                            scene.layout().contact[plan.channels.size() + i]);
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
