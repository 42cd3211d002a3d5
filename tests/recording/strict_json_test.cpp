// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/strict_json.hpp"

#include "recording/helpers.hpp"

namespace lull::test {
namespace {

void refuse(const std::string& text, const std::vector<std::string>& words) {
    expect_error([&] { static_cast<void>(parse_json(text, "s.json")); }, ErrorKind::input, words);
}

std::string nested(std::size_t levels, char open, char close) {
    return std::string(levels, open) + std::string(levels, close);
}

TEST(StrictJson, ReadsWhatTheStandardAllows) {
    const auto json = parse_json(
        "\xEF\xBB\xBF {\"a\": [1, -2, 2.5e3, true, null, \"\\u00e9\\n\"], \"b\": {}}\n", "s.json");
    EXPECT_EQ(json["a"].size(), 6U);
    EXPECT_EQ(json["a"][2].get<double>(), 2500.0);
    EXPECT_EQ(json["a"][5].get<std::string>(), "\xC3\xA9\n");
    EXPECT_TRUE(json["b"].is_object());
    EXPECT_EQ(parse_json(nested(32, '[', ']'), "s.json").dump(), nested(32, '[', ']'));
    const auto ordered = parse_ordered_json(R"({"z": 1, "a": 2})", "s.json");
    EXPECT_EQ(ordered.dump(), R"({"z":1,"a":2})");
}

TEST(StrictJson, NestingIsLimited) {
    refuse(nested(33, '[', ']'), {"s.json", "nested deeper than 32"});
    refuse(std::string(520000, '['), {"nested deeper"});
    std::string objects;
    for (int i = 0; i < 520000; ++i)
        objects += "{\"a\":";
    refuse(objects, {"a.a.a", "nested deeper"});
}

TEST(StrictJson, RepeatedKeyIsRefused) {
    refuse(R"({"a": 1, "b": {"c": [0, {"d": 1, "d": 2}]}})", {"b.c[1].d", "is there twice"});
    EXPECT_NO_THROW((void)parse_json(R"([{"a": 1}, {"a": 2}, {"b": {"a": 3}, "a": 4}])", "s.json"));
}

TEST(StrictJson, NulIsRefused) {
    refuse(R"({"a": ["x", "y\u0000z"]})", {"| a[1] |", "NUL"});
    refuse(R"({"a\u0000": 1})", {"NUL"});
    refuse(std::string("{\"a\":\n 1\0}", 11), {"line 2, column 3", "NUL"});
}

TEST(StrictJson, SizesAreLimited) {
    EXPECT_NO_THROW((void)parse_json("\"" + std::string(10000, 'x') + "\"", "s.json"));
    refuse("{\"a\": \"" + std::string(10001, 'x') + "\"}", {"| a |", "10001 bytes", "10000"});
    refuse("{\"" + std::string(10001, 'x') + "\": 1}", {"10001 bytes"});
    std::string many = "[0";
    for (int i = 0; i < 1000000; ++i)
        many += ",0";
    refuse(many + "]", {"more than 1000000 values"});
    const Folder folder;
    write_bytes(folder / "large.json", std::string((std::size_t{16} << 20U) + 1, ' '));
    expect_error([&] { static_cast<void>(load_json(folder / "large.json")); }, ErrorKind::input,
                 {"large.json", "too large", "16 MiB"});
    expect_error([] { static_cast<void>(load_json("/dev/zero")); }, ErrorKind::input,
                 {"too large"});
}

TEST(StrictJson, NumbersOutOfRangeAreReported) {
    refuse("{\"a\":\n -1e999}", {"line 2", "-1e999", "larger"});
    const auto json = parse_json(R"({"a": 18446744073709551615, "b": 3})", "s.json");
    const JsonObject in(json, "s.json", "");
    expect_error([&] { static_cast<void>(in.whole("a", -1, 5)); }, ErrorKind::input,
                 {"18446744073709551615", "out of range"});
    EXPECT_EQ(in.whole("b", -1, 5), 3);
}

TEST(StrictJson, LengthOfListsIsLimited) {
    const auto json = parse_json(R"({"a": [{}, {}, {}]})", "s.json");
    const JsonObject in(json, "s.json", "");
    EXPECT_EQ(in.objects("a", 3).size(), 3U);
    expect_error([&] { static_cast<void>(in.objects("a", 2)); }, ErrorKind::input,
                 {"| a |", "3 entries", "at most 2"});
}

TEST(StrictJson, NearestWordCountsASwapAsOne) {
    EXPECT_EQ(edit_distance("jbos", "jobs"), 1U);
    EXPECT_EQ(edit_distance("form", "format"), 2U);
    EXPECT_EQ(edit_distance("", "abc"), 3U);
    EXPECT_EQ(edit_distance("kitten", "sitting"), 3U);
    EXPECT_EQ(nearest_word("form", {"format", "from", "jobs"}), "from");
}

} // namespace
} // namespace lull::test
