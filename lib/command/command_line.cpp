// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/command_line.hpp"

#include "recording/strict_json.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <vector>

namespace lull {
namespace {

std::vector<std::string> long_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::Option* option : app.get_options())
        for (const std::string& name : option->get_lnames())
            names.push_back(name);
    return names;
}

/// The option nearest in spelling, if at most half of the word would have to change.
std::string meant_option(const CLI::App& app, const std::string& written) {
    const std::string name = written.substr(written.find_first_not_of('-'));
    const std::string nearest = nearest_word(name, long_names(app));
    const bool near = !nearest.empty() && 2 * edit_distance(name, nearest) <= name.size();
    return near ? "did you mean --" + nearest + "?" : "see " + app.get_name() + " --help";
}

template <class Number>
CLI::Validator between(Number low, Number high, const char* what) {
    const std::string range = fmt::format("{} to {}", low, high);
    return CLI::Validator(
        [=](const std::string& text) -> std::string {
            Number value{};
            const char* end = text.data() + text.size();
            const auto read = std::from_chars(text.data(), end, value);
            if (text.empty() || read.ec == std::errc::invalid_argument || read.ptr != end)
                return fmt::format("'{}' is not {}; give {}", text, what, range);
            if (read.ec != std::errc{} || !(value >= low && value <= high))
                return fmt::format("{} is out of range; give {}", text, range);
            return "";
        },
        range);
}

} // namespace

std::string refusal(const CLI::App& app, const CLI::ParseError& fault) {
    // CLI11 reports the word after an unknown option as the fault. The option is what is wrong.
    const std::vector<std::string> rest = app.remaining();
    const auto unknown = std::ranges::find_if(rest, [](const std::string& word) {
        return word.starts_with('-') && word.find_first_not_of('-') != std::string::npos;
    });
    if (unknown != rest.end()) {
        const std::string option = unknown->substr(0, unknown->find('='));
        return "unknown option " + option + "; " + meant_option(app, option);
    }
    const std::string said = fault.what();
    return fault.get_name() == "ValidationError" ? said
                                                 : said + "; see " + app.get_name() + " --help";
}

CLI::Validator one_of(std::vector<std::string> words) {
    const std::string shown = fmt::format("{{{}}}", fmt::join(words, ","));
    return CLI::Validator(
        [words = std::move(words)](const std::string& text) -> std::string {
            if (std::ranges::find(words, text) != words.end()) return "";
            const std::string nearest = nearest_word(text, words);
            const bool near = 2 * edit_distance(text, nearest) <= text.size();
            return fmt::format("'{}' is none of {}{}", text, fmt::join(words, ", "),
                               near ? "; did you mean " + nearest + "?" : "");
        },
        shown);
}

CLI::Validator number_between(double low, double high) {
    return between(low, high, "a number");
}

CLI::Validator whole_between(std::int64_t low, std::int64_t high) {
    return between(low, high, "a whole number");
}

} // namespace lull
