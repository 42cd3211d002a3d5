// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/strict_json.hpp"

#include "error.hpp"
#include "recording/internal/json_builder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <numeric>
#include <string_view>
#include <utility>

namespace lull {
namespace {

constexpr std::size_t largest_file = std::size_t{16} << 20U;
constexpr std::size_t piece_bytes = std::size_t{64} << 10U;

std::string shown(const nlohmann::json& value) {
    std::string text = value.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    return text.size() <= 40 ? text : text.substr(0, 37) + "...";
}

/// Reads at most the allowed size, whatever the file's stated size.
std::string read_whole(const std::string& path) {
    std::error_code fault;
    if (std::filesystem::is_directory(path, fault))
        throw_input(path, "", "is a folder", "give a file");
    errno = 0;
    std::ifstream file(path, std::ios::binary);
    if (!file) throw_input(path, "", std::strerror(errno), "");
    std::string text;
    while (file && text.size() <= largest_file) {
        const std::size_t before = text.size();
        text.resize(before + piece_bytes);
        file.read(text.data() + before, static_cast<std::streamsize>(piece_bytes));
        text.resize(before + static_cast<std::size_t>(file.gcount()));
    }
    if (text.size() > largest_file)
        throw_input(path, "", "is too large for a description",
                    fmt::format("give a file of at most {} MiB", largest_file >> 20U));
    return text;
}

template <class Json>
Json parse(std::string_view text, const std::string& path) {
    if (const std::size_t nul = text.find('\0'); nul != std::string_view::npos)
        throw_input(path, line_and_column(text, nul + 1), "a NUL byte", "give JSON in UTF-8");
    JsonBuilder<Json> builder(text, path);
    (void)Json::sax_parse(text, &builder); // the builder throws for what it refuses
    return builder.take();
}

} // namespace

std::string line_and_column(std::string_view text, std::size_t byte) {
    const std::size_t end = std::min(byte, text.size());
    const auto line =
        std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(end), '\n') + 1;
    const std::size_t newline = end == 0 ? std::string::npos : text.rfind('\n', end - 1);
    return fmt::format("line {}, column {}", line,
                       newline == std::string::npos ? end : end - newline - 1);
}

nlohmann::json load_json(const std::string& path) {
    return parse_json(read_whole(path), path);
}

nlohmann::json parse_json(const std::string& text, const std::string& path) {
    return parse<nlohmann::json>(text, path);
}

nlohmann::ordered_json parse_ordered_json(const std::string& text, const std::string& path) {
    return parse<nlohmann::ordered_json>(text, path);
}

std::size_t edit_distance(const std::string& a, const std::string& b) {
    std::vector<std::size_t> before(b.size() + 1), row(b.size() + 1), next(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        next[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            next[j] = std::min(
                {row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                next[j] = std::min(next[j], before[j - 2] + 1);
        }
        std::swap(before, row);
        std::swap(row, next);
    }
    return row.back();
}

std::string nearest_word(const std::string& text, const std::vector<std::string>& words) {
    const auto best = std::ranges::min_element(
        words, {}, [&text](const std::string& word) { return edit_distance(text, word); });
    return best == words.end() ? std::string() : *best;
}

JsonObject::JsonObject(const nlohmann::json& value, std::string file, std::string place)
    : value_(&value), file_(std::move(file)), place_(std::move(place)) {
    if (!value.is_object())
        throw_input(file_, place_, shown(value) + " is not an object", "give { ... }");
}

std::string JsonObject::place_of(const char* key) const {
    if (key == nullptr) return place_;
    return place_.empty() ? key : place_ + "." + key;
}

void JsonObject::fail(const char* key, const std::string& what, const std::string& mend) const {
    throw_input(file_, place_of(key), what, mend);
}

void JsonObject::allow_only(const std::vector<std::string>& keys) const {
    for (const auto& [key, value] : value_->items())
        if (std::ranges::find(keys, key) == keys.end())
            fail(key.c_str(), "unknown key",
                 "the nearest known one is \"" + nearest_word(key, keys) + "\"");
}

bool JsonObject::has(const char* key) const {
    return value_->contains(key);
}

bool JsonObject::is_number(const char* key) const {
    return has(key) && value_->at(key).is_number();
}

void JsonObject::need(const char* key) const {
    if (!has(key)) fail(key, "is missing", "it is needed here");
}

const nlohmann::json& JsonObject::at(const char* key) const {
    need(key);
    return value_->at(key);
}

double JsonObject::number(const char* key, double low, double high) const {
    const nlohmann::json& value = at(key);
    if (!value.is_number()) fail(key, shown(value) + " is not a number", "give a number");
    const auto number = value.get<double>();
    if (!std::isfinite(number) || number < low || number > high)
        fail(key, shown(value) + " is out of range", fmt::format("give {:g} to {:g}", low, high));
    return number;
}

int JsonObject::whole(const char* key, int low, int high) const {
    const nlohmann::json& value = at(key);
    if (!value.is_number_integer())
        fail(key, shown(value) + " is not a whole number", fmt::format("give {} to {}", low, high));
    // Beyond 2^63 a number is stored as unsigned.
    const auto number = value.get<std::int64_t>();
    if (number < low || number > high || (value.is_number_unsigned() && number < 0))
        fail(key, shown(value) + " is out of range", fmt::format("give {} to {}", low, high));
    return static_cast<int>(number);
}

bool JsonObject::flag(const char* key) const {
    const nlohmann::json& value = at(key);
    if (!value.is_boolean()) fail(key, shown(value) + " is neither true nor false", "");
    return value.get<bool>();
}

std::string JsonObject::text(const char* key) const {
    const nlohmann::json& value = at(key);
    if (!value.is_string()) fail(key, shown(value) + " is not a text", "put it in double quotes");
    return value.get<std::string>();
}

std::size_t JsonObject::word(const char* key, const std::vector<std::string>& words) const {
    const std::string given = text(key);
    const auto found = std::ranges::find(words, given);
    if (found == words.end())
        fail(key, "\"" + given + "\" is not known",
             fmt::format("give one of {}", fmt::join(words, ", ")));
    return static_cast<std::size_t>(found - words.begin());
}

std::vector<double> JsonObject::numbers(const char* key, std::size_t count) const {
    const nlohmann::json& value = at(key);
    const bool fits = value.is_array() && value.size() == count &&
                      std::ranges::all_of(value, [](const auto& item) {
                          return item.is_number() && std::isfinite(item.template get<double>());
                      });
    if (!fits)
        fail(key, shown(value) + " does not fit", fmt::format("give a list of {} numbers", count));
    return value.get<std::vector<double>>();
}

JsonObject JsonObject::object(const char* key) const {
    return {at(key), file_, place_of(key)};
}

std::vector<JsonObject> JsonObject::objects(const char* key, std::size_t most) const {
    const nlohmann::json& value = at(key);
    if (!value.is_array()) fail(key, shown(value) + " is not a list", "give [ ... ]");
    if (value.size() > most)
        fail(key, fmt::format("{} entries", value.size()), fmt::format("give at most {}", most));
    std::vector<JsonObject> all;
    for (std::size_t i = 0; i < value.size(); ++i)
        all.emplace_back(value[i], file_, fmt::format("{}[{}]", place_of(key), i));
    return all;
}

} // namespace lull
