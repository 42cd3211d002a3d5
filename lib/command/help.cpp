// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/help.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <string_view>

namespace lull {
namespace {

constexpr std::size_t width = 80, about_at = 28;

struct StatusMeaning {
    const char* status;
    const char* meaning;
};
constexpr StatusMeaning statuses[] = {
    {"0", "done; finding nothing is done, and gaps between files are reported, not errors"},
    {"1", "failed: output cannot be written, out of space or memory, internal failure"},
    {"2", "the command line is wrong"},
    {"3", "no input can be used: missing, unreadable, not audio, wrong session"},
    {"4",
     "done, but an input was cut short, damaged or skipped, or a line of a sheet or log could not "
     "be read; each is named"},
    {"129, 130, 143", "interrupted; nothing half-written is left under a final name"},
};

/// An option's type and values: "NUMBER:0 to 1", "TEXT:{csv,json}".
struct Values {
    std::string type, range;
    std::vector<std::string> choices;
};

Values values_of(const CLI::Option& option) {
    Values values;
    const std::string whole = option.get_type_name();
    const std::size_t colon = whole.find(':');
    values.type = whole.substr(0, colon);
    if (colon == std::string::npos) return values;
    const std::string rest = whole.substr(colon + 1);
    if (!rest.starts_with('{')) {
        values.range = rest;
        return values;
    }
    const std::string inner = rest.substr(1, rest.size() - 2);
    for (std::size_t begin = 0; begin <= inner.size();) {
        const std::size_t end = std::min(inner.find(',', begin), inner.size());
        values.choices.push_back(inner.substr(begin, end - begin));
        begin = end + 1;
    }
    values.type.clear();
    return values;
}

bool is_flag(const CLI::Option& option) {
    return option.get_expected_max() == 0;
}

/// "-o, --output FILE"; for a positional option its name.
std::string name_of(const CLI::Option& option) {
    if (option.get_positional()) return option.get_name(true);
    std::string name;
    for (const std::string& letter : option.get_snames())
        name += "-" + letter + ", ";
    name += "--" + option.get_lnames().front();
    if (is_flag(option)) return name;
    const Values values = values_of(option);
    name += " " + (values.choices.empty() ? values.type
                                          : fmt::format("{}", fmt::join(values.choices, "|")));
    return option.get_expected_max() > 1 ? name + " ..." : name;
}

std::string about_of(const CLI::Option& option) {
    std::string about = option.get_description();
    const std::string range = values_of(option).range, standard = option.get_default_str();
    std::vector<std::string> said;
    if (option.get_required() && !option.get_positional()) said.emplace_back("required");
    if (!range.empty()) said.push_back(range);
    if (!standard.empty()) said.push_back("default: " + standard);
    return said.empty() ? about : about + fmt::format(" ({})", fmt::join(said, "; "));
}

/// Wraps words from a column on. The first line has been started already.
/// \param line_end  goes at the end of each line but the last: " \\" continues a command
std::string wrapped(std::string_view text, std::size_t column, std::string_view line_end = "") {
    std::string lines;
    std::size_t at = column;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        if (at > column && at + 1 + end + line_end.size() > width) {
            lines += std::string(line_end) + "\n" + std::string(column, ' ');
            at = column;
        } else if (at > column) {
            lines += ' ';
            ++at;
        }
        lines += text.substr(0, end);
        at += end;
        text.remove_prefix(std::min(end + 1, text.size()));
    }
    return lines + "\n";
}

std::string line_of(const std::string& name, const std::string& about) {
    const std::string begin = "  " + name;
    const bool fits = begin.size() + 2 <= about_at;
    return begin +
           (fits ? std::string(about_at - begin.size(), ' ') : "\n" + std::string(about_at, ' ')) +
           wrapped(about, about_at);
}

/// The visible options by group, positional ones first and general ones last.
std::vector<std::pair<std::string, std::vector<const CLI::Option*>>> grouped(const CLI::App& app) {
    std::vector<std::pair<std::string, std::vector<const CLI::Option*>>> groups;
    for (const CLI::Option* option : app.get_options()) {
        if (option->get_group().empty()) continue;
        auto found = std::ranges::find(groups, option->get_group(),
                                       [](const auto& group) { return group.first; });
        if (found == groups.end()) found = groups.insert(groups.end(), {option->get_group(), {}});
        found->second.push_back(option);
    }
    for (auto& [name, options] : groups)
        std::ranges::stable_sort(options, {},
                                 [](const CLI::Option* o) { return !o->get_positional(); });
    std::ranges::stable_sort(groups, {}, [](const auto& group) {
        return group.first == "Input" ? 0 : group.first == "General" ? 2 : 1;
    });
    return groups;
}

std::string positionals_of(const CLI::App& app) {
    std::string text;
    for (const CLI::Option* option : app.get_options())
        if (option->get_positional())
            text += " " + option->get_name(true) + (option->get_expected_max() > 1 ? "..." : "");
    return text;
}

} // namespace

CLI::Option* shown_as(CLI::Option* option, const char* type, const char* standard) {
    option->type_name(type);
    option->default_str(standard);
    return option;
}

std::string help_text(const CLI::App& app, const std::vector<Example>& examples) {
    std::string text = wrapped(app.get_name() + ": " + app.get_description(), 0);
    text += "\nUsage: " + app.get_name() + " [OPTIONS]" + positionals_of(app) + "\n";
    for (const auto& [group, options] : grouped(app)) {
        text += "\n" + group + "\n";
        for (const CLI::Option* option : options)
            text += line_of(name_of(*option), about_of(*option));
    }
    text += "\nExamples\n";
    for (const Example& example : examples)
        text += "  " + wrapped(example.command, 2, " \\") + "      " + wrapped(example.about, 6);
    text += "\nExit status\n";
    for (const StatusMeaning& status : statuses)
        text += line_of(status.status, status.meaning);
    return text;
}

std::string description_json(const CLI::App& app, const std::vector<Example>& examples) {
    using Json = nlohmann::ordered_json;
    Json json = {{"format", "lull-tool"},
                 {"version", 1},
                 {"name", app.get_name()},
                 {"lull", LULL_VERSION},
                 {"purpose", app.get_description()},
                 {"groups", Json::array()},
                 {"examples", Json::array()},
                 {"statuses", Json::array()}};
    for (const auto& [group, options] : grouped(app)) {
        Json listed = Json::array();
        for (const CLI::Option* option : options) {
            const Values values = values_of(*option);
            listed.push_back({{"long", option->get_lnames()},
                              {"short", option->get_snames()},
                              {"positional", option->get_positional()},
                              {"name", option->get_name(option->get_positional())},
                              {"type", is_flag(*option) ? "" : values.type},
                              {"range", values.range},
                              {"choices", values.choices},
                              {"default", option->get_default_str()},
                              {"required", option->get_required()},
                              {"several", option->get_expected_max() > 1},
                              {"about", option->get_description()}});
        }
        json["groups"].push_back({{"name", group}, {"options", listed}});
    }
    for (const Example& example : examples)
        json["examples"].push_back({{"command", example.command}, {"about", example.about}});
    for (const StatusMeaning& status : statuses)
        json["statuses"].push_back({{"status", status.status}, {"meaning", status.meaning}});
    return json.dump(1) + "\n";
}

} // namespace lull
