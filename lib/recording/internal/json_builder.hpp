// SPDX-License-Identifier: GPL-3.0-or-later
//
// Builds JSON from parser events, within limits far above our own files. Anything deeper, larger or
// with a repeated key is refused with its place.
#pragma once

#include "error.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace lull {

inline constexpr std::size_t most_json_depth = 32;
inline constexpr std::size_t most_json_values = 1000000;
inline constexpr std::size_t longest_json_text = 10000; ///< bytes

/// "line 3, column 7" for a byte offset.
[[nodiscard]] std::string line_and_column(std::string_view text, std::size_t byte);

/// \tparam Json  nlohmann::json, or ordered_json to keep the order of the file
template <class Json>
class JsonBuilder final : public nlohmann::json_sax<Json> {
  public:
    /// \param text  the parsed text; outlives the builder
    JsonBuilder(std::string_view text, const std::string& file) : text_(text), file_(file) {}

    [[nodiscard]] Json take() { return std::move(root_); }

    bool null() override { return put(nullptr); }
    bool boolean(bool value) override { return put(value); }
    bool number_integer(std::int64_t value) override { return put(value); }
    bool number_unsigned(std::uint64_t value) override { return put(value); }
    bool number_float(double value, const std::string&) override { return put(value); }
    bool string(std::string& text) override {
        check(text, place());
        return put(std::move(text));
    }
    bool binary(typename Json::binary_t&) override { return false; } // does not occur in text

    bool start_object(std::size_t) override { return open(Json::object()); }
    bool start_array(std::size_t) override { return open(Json::array()); }
    bool end_object() override { return close(); }
    bool end_array() override { return close(); }

    bool key(std::string& name) override {
        Level& level = levels_.back();
        check(name, place());
        level.key = std::move(name);
        if (level.value->contains(level.key))
            throw_input(file_, place(), "is there twice", "keep one of them");
        return true;
    }

    bool parse_error(std::size_t position, const std::string& token,
                     const nlohmann::detail::exception& fault) override {
        const std::string where = line_and_column(text_, position);
        if (dynamic_cast<const nlohmann::detail::out_of_range*>(&fault) != nullptr)
            throw_input(file_, where, "\"" + token + "\" is larger than any number here",
                        "give a smaller number");
        throw_input(file_, where, "is not JSON here", "check commas, quotes and brackets");
    }

  private:
    struct Level {
        Json* value;
        std::string key; ///< in an object: key of the next value
    };

    /// Place of the next value: "channels[2].name".
    [[nodiscard]] std::string place() const {
        constexpr std::size_t longest = 80;
        std::string path;
        for (const Level& level : levels_) {
            const std::size_t open = &level == &levels_.back() ? 0 : 1; // counted already
            path += level.value->is_array() ? fmt::format("[{}]", level.value->size() - open)
                                            : (path.empty() ? "" : ".") + level.key;
        }
        return path.size() <= longest ? path : "..." + path.substr(path.size() - longest);
    }

    void check(const std::string& text, const std::string& where) const {
        if (text.size() > longest_json_text)
            throw_input(file_, where, fmt::format("a text of {} bytes", text.size()),
                        fmt::format("give at most {}", longest_json_text));
        if (text.find('\0') != std::string::npos)
            throw_input(file_, where, "holds a NUL character", "leave it out");
    }

    /// \return the value at its final place
    Json& place_value(Json&& value) {
        if (++values_ > most_json_values)
            throw_input(file_, place(), fmt::format("more than {} values", most_json_values),
                        "give a smaller file");
        if (levels_.empty()) return root_ = std::move(value);
        Level& level = levels_.back();
        if (level.value->is_object()) return (*level.value)[level.key] = std::move(value);
        level.value->push_back(std::move(value));
        return level.value->back();
    }
    bool put(Json&& value) {
        (void)place_value(std::move(value));
        return true;
    }
    bool open(Json&& empty) {
        if (levels_.size() >= most_json_depth)
            throw_input(file_, place(),
                        fmt::format("is nested deeper than {} levels", most_json_depth),
                        "give a flatter file");
        Json& value = place_value(std::move(empty));
        levels_.push_back({&value, ""});
        return true;
    }
    bool close() {
        levels_.pop_back();
        return true;
    }

    std::string_view text_;
    const std::string& file_;
    Json root_;
    std::vector<Level> levels_; ///< the open objects and lists
    std::size_t values_ = 0;
};

} // namespace lull
