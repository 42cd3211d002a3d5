// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/helpers.hpp"
#include "recording/start_time.hpp"

#include <nlohmann/json.hpp>

#include <cmath>
#include <functional>

namespace lull::test {
namespace {

using Json = nlohmann::json;

struct SessionFile : ::testing::Test {
    Folder folder;
    Json good = {{"format", "lull-session"},
                 {"version", 1},
                 {"recordings", {{{"file", "a.wav"}}}},
                 {"channels",
                  {{{"name", "stairwell"}, {"kind", "seismic"}, {"track", 1}},
                   {{"name", "north-slab"}, {"kind", "air"}, {"track", 2}}}}};

    void SetUp() override {
        ASSERT_TRUE(write_audio(folder / "a.wav", wav16, 2, 16000, noise(16000, 2, 4)));
    }

    std::string write(const Json& json) {
        write_bytes(folder / "s.json", json.dump(1));
        return folder / "s.json";
    }
    void refuse(const std::function<void(Json&)>& change, const std::vector<std::string>& words) {
        Json json = good;
        change(json);
        expect_bad_input(write(json), words);
    }
};

TEST_F(SessionFile, EveryFieldIsRead) {
    Json json = good;
    json["label"] = "basement search";
    json["exhibit"] = "E-7";
    json["start"] = "2026-03-14T02:10:00";
    json["time_zone"] = "+01:00";
    json["start_sigma_s"] = 0.5;
    json["mains_hz"] = 50;
    json["recordings"][0]["clock_checks"] = {{{"recorder", 10}, {"reference", 10.5}}};
    json["channels"][0].update({{"axis", "z"},
                                {"mount", "spike"},
                                {"polarity", -1},
                                {"position_m", {1, 2.5, -3}},
                                {"position_sigma_m", 0.3},
                                {"sensitivity", {{"value", 28.8}, {"unit", "V/(m/s)"}}},
                                {"full_scale_V", 2.0},
                                {"gain_dB", 20},
                                {"recorded_through", "long cable"},
                                {"clock_offset_s", 0.25},
                                {"clock_drift_ppm", -3},
                                {"recording", 1}});
    json["channels"][1]["recording"] = 1;
    json["changes"] = {
        {{"from", "02:10:30"}, {"channel", "stairwell"}, {"gain_dB", 30}},
        {{"from", 10}, {"channel", "stairwell"}, {"gain_dB", 25}, {"position_m", {0, 0, 0}}},
        {{"from", "+00:00:20"}, {"channel", "stairwell"}, {"mount", "plate"}, {"polarity", 1}}};
    json["propagation"] = {{"seismic_m_s", {400, 2000}}, {"air_temperature_C", 5}};
    json["grid"] = {{"origin_m", {0, 0}}, {"cell_m", 2},       {"columns", 5},
                    {"rows", 4},          {"bearing_deg", 12}, {"north", "site"}};
    const auto recording = open_recording(write(json), {});
    const Session& session = recording->session;
    EXPECT_EQ(session.exhibit, "E-7");
    EXPECT_EQ(session.mains_hz, 50.0);
    EXPECT_EQ(session.recordings[0].clock_checks[0].reference_s, 10.5);
    EXPECT_EQ(session.propagation.seismic_m_s.second, 2000.0);
    EXPECT_EQ(session.grid->columns, 5);
    EXPECT_EQ(recording->start.source, "session");
    EXPECT_EQ(recording->start.sigma_s, 0.5);
    EXPECT_EQ(clock_text(recording->start, 0.0), "2026-03-14T02:10:00.000+01:00");
    const Channel& channel = recording->channels[0];
    EXPECT_EQ(channel.polarity, -1);
    EXPECT_EQ((*channel.position_m)[1], 2.5);
    ASSERT_EQ(session.changes.size(), 3U);
    EXPECT_EQ(session.changes[2].from_s, 30.0) << "sorted";
    EXPECT_EQ(channel_at(session, channel, 9.9).gain_db, 20.0);
    EXPECT_EQ(channel_at(session, channel, 10.0).gain_db, 25.0);
    EXPECT_EQ(channel_at(session, channel, 25.0).mount, "plate");
    EXPECT_EQ(channel_at(session, channel, 25.0).polarity, 1);
    EXPECT_EQ(channel_at(session, channel, 30.0).gain_db, 30.0);
    EXPECT_EQ(channel_at(session, recording->channels[1], 30.0).gain_db, 0.0);
    // Full scale 2 V at 28.8 V/(m/s) after 20 dB of gain: 2/28.8/10 m/s re 1 nm/s.
    EXPECT_NEAR(level_scale(channel).offset_db, 20.0 * std::log10(2.0 / 28.8 / 10.0 / 1e-9), 1e-9);
    EXPECT_EQ(level_scale(channel).unit, "dB re 1 nm/s");
    EXPECT_EQ(level_scale(recording->channels[1]).unit, "dB re full scale");
    const Block block = read_all(*recording);
    const Block plain = read_all(*open_recording(folder / "a.wav", {}));
    EXPECT_EQ(block.channel(0)[77], -plain.channel(0)[77]) << "polarity is applied";
    EXPECT_EQ(block.channel(1)[77], plain.channel(1)[77]);
}

TEST_F(SessionFile, FaultsAreReportedWithTheirPlace) {
    refuse([](Json& s) { s["recordings"][0]["file"] = "b.wav"; }, {"b.wav", "No such file"});
    refuse([](Json& s) { s["channels"][1]["track"] = 3; },
           {"s.json", "channels[1].track", "no track 3", "1 to 2"});
    refuse([](Json& s) { s["channels"][1]["name"] = "stairwell"; },
           {"channels[1].name", "stairwell"});
    refuse([](Json& s) { s["channels"][1]["polarty"] = 1; },
           {"channels[1].polarty", "\"polarity\""});
    refuse([](Json& s) { s["recording"] = 1; }, {"unknown key", "\"recordings\""});
    refuse([](Json& s) { s["channels"][0]["track"] = "two"; },
           {"channels[0].track", "whole number"});
    refuse([](Json& s) { s["channels"][0]["track"] = 0; }, {"channels[0].track", "1 to 64"});
    refuse([](Json& s) { s["channels"][0]["track"] = 1.5; }, {"channels[0].track", "whole number"});
    refuse([](Json& s) { s["channels"][0]["kind"] = "water"; },
           {"channels[0].kind", "seismic, air, unknown"});
    refuse(
        [](Json& s) {
            s["channels"][0]["position_m"] = {1, 2};
        },
        {"channels[0].position_m", "3 numbers"});
    refuse([](Json& s) { s["channels"][0]["polarity"] = 0; }, {"channels[0].polarity", "1 or -1"});
    refuse([](Json& s) { s["channels"][0]["polarity"] = 2; }, {"channels[0].polarity"});
    refuse([](Json& s) { s["channels"][0]["recording"] = 2; },
           {"channels[0].recording", "no recording 2"});
    refuse(
        [](Json& s) {
            s["channels"][0]["sensitivity"] = {{"value", 1}, {"unit", "V"}};
        },
        {"sensitivity.unit", "V/Pa"});
    refuse([](Json& s) { s["channels"][0].erase("kind"); }, {"channels[0].kind", "missing"});
    refuse([](Json& s) { s["channels"] = Json::array(); }, {"channels"});
    refuse([](Json& s) { s.erase("version"); }, {"version"});
    refuse([](Json& s) { s["version"] = 2; }, {"version"});
    refuse([](Json& s) { s["format"] = "other"; }, {"format", "lull-session"});
    refuse([](Json& s) { s["start"] = "14.03.2026"; }, {"start", "ISO 8601"});
    refuse(
        [](Json& s) {
            s["start"] = "2026-03-14T00:00:00";
            s["time_zone"] = "Mars/North";
        },
        {"time_zone", "Mars/North"});
    refuse(
        [](Json& s) {
            s["changes"] = {{{"from", 1}, {"channel", "cellar"}}};
        },
        {"changes[0].channel", "cellar"});
    refuse(
        [](Json& s) {
            s["changes"] = {{{"from", "soon"}, {"channel", "stairwell"}}};
        },
        {"changes[0].from", "soon"});
    refuse(
        [](Json& s) {
            s["changes"] = {{{"from", "10:00:00"}, {"channel", "stairwell"}}};
        },
        {"10:00:00", "start"});
    refuse([](Json& s) { s["recordings"][0]["file"] = "../a.wav"; },
           {"recordings[0].file", "--allow-outside"});
    refuse([](Json& s) { s["recordings"][0]["file"] = "/a.wav"; },
           {"recordings[0].file", "--allow-outside"});
    write_bytes(folder / "s.json", "{\"format\": \"lull-session\",\n \"version\": 1,,}");
    expect_bad_input(folder / "s.json", {"s.json", "line 2"});
    write_bytes(folder / "s.json", "[1]");
    expect_bad_input(folder / "s.json", {"not an object"});
    expect_bad_input(folder / "gone.json", {"gone.json", "No such file"});
}

TEST_F(SessionFile, LinkOutOfTheFolderIsOutside) {
    const Folder other;
    ASSERT_TRUE(write_audio(other / "far.wav", wav16, 2, 16000, noise(100, 2, 4)));
    std::filesystem::create_symlink(other / "far.wav", folder / "near.wav");
    Json json = good;
    json["recordings"][0]["file"] = "near.wav";
    expect_bad_input(write(json), {"recordings[0].file", "outside"});
    OpenOptions options;
    options.allow_outside = true;
    EXPECT_EQ(open_recording(write(json), options)->frames, 100);
}

TEST_F(SessionFile, LinkedFolderIsOutside) {
    const Folder other;
    ASSERT_TRUE(write_audio(other / "far.wav", wav16, 2, 16000, noise(100, 2, 4)));
    std::filesystem::create_directory_symlink(other / ".", folder / "near");
    std::filesystem::create_symlink("a.wav", folder / "same.wav");
    Json json = good;
    json["recordings"][0]["file"] = "near/far.wav";
    expect_bad_input(write(json), {"recordings[0].file", "outside", "--allow-outside"});
    json["recordings"][0]["file"] = "same.wav";
    EXPECT_EQ(open_recording(write(json), {})->frames, 16000);
    EXPECT_EQ(load_session(write(json), false).recordings.size(), 1U);
}

TEST_F(SessionFile, NamesOfChannelsFitIntoListsAndLines) {
    const auto named = [](const std::string& name) {
        return [name](Json& s) { s["channels"][1]["name"] = name; };
    };
    for (const std::string name : {"a;b", "a,b", "a\nb", "a\x7F", "a\xC2\x85", " a", "a "})
        refuse(named(name), {"s.json", "channels[1].name", "1 to 64 characters"});
    refuse(named(""), {"channels[1].name", "is empty"});
    refuse(named(std::string(65, 'a')), {"channels[1].name", "longer than 64 characters"});
    std::string umlauts;
    for (int i = 0; i < 64; ++i)
        umlauts += "\xC3\xB6";
    for (const std::string& name :
         {umlauts, std::string(64, 'a'), std::string("2nd floor (left)")}) {
        Json json = good;
        json["channels"][1]["name"] = name;
        EXPECT_EQ(open_recording(write(json), {})->channels[1].name, name);
    }
}

TEST_F(SessionFile, NumbersOfChannelsAndListItemsAreLimited) {
    refuse(
        [](Json& s) {
            for (int i = 2; i < 65; ++i)
                s["channels"].push_back(
                    {{"name", "c" + std::to_string(i)}, {"kind", "air"}, {"track", 1}});
        },
        {"s.json", "channels", "65 entries", "at most 64"});
    refuse(
        [](Json& s) {
            for (int i = 0; i < 10001; ++i)
                s["changes"].push_back({{"from", i}, {"channel", "stairwell"}});
        },
        {"changes", "10001 entries"});
}

TEST_F(SessionFile, DifferentRatesAreReportedByChannel) {
    ASSERT_TRUE(write_audio(folder / "b.wav", wav16, 1, 8000, noise(100, 1, 4)));
    Json json = good;
    json["recordings"].push_back({{"file", "b.wav"}});
    json["channels"][0]["recording"] = 1;
    json["channels"][1].update({{"recording", 2}, {"track", 1}});
    expect_bad_input(write(json), {"stairwell (a.wav) 16000 Hz", "north-slab (b.wav) 8000 Hz"});
}

TEST_F(SessionFile, DescribesABareFile) {
    Json json = good;
    json["recordings"] = {{{"file", "other.wav"}}, {{"file", "a.wav"}}};
    json["channels"][0]["recording"] = 1;
    OpenOptions options;
    options.session_file = write(json);
    const auto recording = open_recording(folder / "a.wav", options);
    ASSERT_EQ(recording->channels.size(), 1U);
    EXPECT_EQ(recording->channels[0].name, "north-slab");
    ASSERT_TRUE(write_audio(folder / "c.wav", wav16, 2, 16000, noise(100, 2, 4)));
    expect_bad_input(folder / "c.wav", {"s.json", "c.wav"}, options);
    expect_error([&] { static_cast<void>(open_recording(folder / "s.json", options)); },
                 ErrorKind::usage, {"--session"});
}

TEST_F(SessionFile, ExercisesAreMarkedAndKeptApart) {
    Json json = good;
    EXPECT_FALSE(open_recording(write(json), {})->exercise);
    json["exercise"] = true;
    EXPECT_TRUE(open_recording(write(json), {})->exercise);
}

} // namespace
} // namespace lull::test
