// SPDX-License-Identifier: GPL-3.0-or-later
//
// Strict reading of JSON files that people write: every fault is reported with its place. All JSON
// that the program reads is read here. Nesting, values, texts and size are limited, keys of an
// object must be unique, and NUL is refused.
#pragma once

#include <nlohmann/json.hpp>

#include <limits>
#include <optional>
#include <string>
#include <vector>

namespace lull {

/// Reads and parses a whole file of at most 16 MiB.
/// \throws Error(input) with the system's reason, with line and column of a syntax error, or with
///         the place where a limit is exceeded (recording/internal/json_builder.hpp)
[[nodiscard]] nlohmann::json load_json(const std::string& path);
/// The same for text that was read from that file.
[[nodiscard]] nlohmann::json parse_json(const std::string& text, const std::string& path);
/// The same, keeping the order of keys.
[[nodiscard]] nlohmann::ordered_json parse_ordered_json(const std::string& text,
                                                        const std::string& path);

/// Edit distance of two words: insertions, deletions, substitutions and swaps of neighbours.
[[nodiscard]] std::size_t edit_distance(const std::string& a, const std::string& b);

/// The word of `words` that `text` most likely means (fewest edits).
[[nodiscard]] std::string nearest_word(const std::string& text,
                                       const std::vector<std::string>& words);

/// An object of a JSON file, with its place in the file. Accessors throw Error(input) when a
/// required value is missing, or a value has another type or lies outside its range.
class JsonObject {
  public:
    /// \param place  "" for the root, else "channels[2]"
    JsonObject(const nlohmann::json& value, std::string file, std::string place);

    /// Refuses keys that are not listed, and names the nearest listed key.
    void allow_only(const std::vector<std::string>& keys) const;
    [[nodiscard]] bool has(const char* key) const;
    [[nodiscard]] bool is_number(const char* key) const;
    void need(const char* key) const;
    [[nodiscard]] const nlohmann::json& at(const char* key) const; ///< of any type

    [[nodiscard]] double number(const char* key, double low = -limit, double high = limit) const;
    [[nodiscard]] int whole(const char* key, int low, int high) const;
    [[nodiscard]] bool flag(const char* key) const;
    [[nodiscard]] std::string text(const char* key) const;
    /// Index in `words` of a text that must be one of them.
    [[nodiscard]] std::size_t word(const char* key, const std::vector<std::string>& words) const;
    /// A list of exactly `count` numbers.
    [[nodiscard]] std::vector<double> numbers(const char* key, std::size_t count) const;
    [[nodiscard]] JsonObject object(const char* key) const;
    /// A list of at most `most` objects.
    [[nodiscard]] std::vector<JsonObject> objects(const char* key,
                                                  std::size_t most = usually_most) const;

    [[noreturn]] void fail(const char* key, const std::string& what, const std::string& mend) const;

  private:
    static constexpr std::size_t usually_most = 10000;
    static constexpr double limit = std::numeric_limits<double>::max();
    [[nodiscard]] std::string place_of(const char* key) const;

    const nlohmann::json* value_; ///< outlives the object
    std::string file_, place_;
};

} // namespace lull
