// SPDX-License-Identifier: GPL-3.0-or-later
//
// JSON files written by people, read strictly: every fault is named with its place.
#pragma once

#include <nlohmann/json.hpp>

#include <limits>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Reads and parses a whole file of at most 64 MiB.
/// \throws Error(input) with the system's reason, or with line and column of a syntax error
[[nodiscard]] nlohmann::json load_json(const std::string& path);
/// The same of text that was read from there.
[[nodiscard]] nlohmann::json parse_json(const std::string& text, const std::string& path);

/// The word of `words` that `text` was most likely meant to be (fewest edits).
[[nodiscard]] std::string nearest_word(const std::string& text,
                                       const std::vector<std::string>& words);

/// An object of a JSON file, with its place in it. Accessors throw Error(input) when a value is
/// missing where it is needed, has another type, or lies outside its range.
class JsonObject {
  public:
    /// \param place "" for the root, else "channels[2]"
    JsonObject(const nlohmann::json& value, std::string file, std::string place);

    /// Refuses every key that is not listed, naming the nearest that is.
    void allow_only(const std::vector<std::string>& keys) const;
    [[nodiscard]] bool has(const char* key) const;
    [[nodiscard]] bool is_number(const char* key) const;
    void need(const char* key) const;
    [[nodiscard]] const nlohmann::json& at(const char* key) const; ///< of any type

    [[nodiscard]] double number(const char* key, double low = -limit, double high = limit) const;
    [[nodiscard]] int whole(const char* key, int low, int high) const;
    [[nodiscard]] bool flag(const char* key) const;
    [[nodiscard]] std::string text(const char* key) const;
    /// A text that must be one of `words`; gives its index.
    [[nodiscard]] std::size_t word(const char* key, const std::vector<std::string>& words) const;
    /// A list of exactly `count` numbers.
    [[nodiscard]] std::vector<double> numbers(const char* key, std::size_t count) const;
    [[nodiscard]] JsonObject object(const char* key) const;
    [[nodiscard]] std::vector<JsonObject> objects(const char* key) const;

    [[noreturn]] void fail(const char* key, const std::string& what, const std::string& mend) const;

  private:
    static constexpr double limit = std::numeric_limits<double>::max();
    [[nodiscard]] std::string place_of(const char* key) const;

    const nlohmann::json* value_; ///< outlives the object
    std::string file_, place_;
};

} // namespace lull
