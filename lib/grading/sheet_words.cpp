// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/sheet_words.hpp"

#include "error.hpp"
#include "recording/strict_json.hpp"

#include <algorithm>
#include <array>

namespace lull {
namespace {

constexpr std::array all_kinds{EventKind::tapping, EventKind::voice_like, EventKind::horn,
                               EventKind::other};

using Json = nlohmann::json;

template <typename Visit>
void each_word(const std::string& path, const Json& json, const std::string& key, Visit visit) {
    if (!json.contains(key)) return;
    if (!json[key].is_object())
        throw_input(path, key, "is not an object", "give a list of words for each name");
    for (const auto& [name, words] : json[key].items()) {
        if (!words.is_array())
            throw_input(path, key + "." + name, "is not a list", "give a list of words");
        for (const Json& word : words) {
            if (!word.is_string())
                throw_input(path, key + "." + name, "holds something that is no text", "");
            visit(name, plain_name(word.get<std::string>()));
        }
    }
}

} // namespace

std::string plain_name(std::string_view text) {
    std::string plain;
    for (const char c : lower_case(trimmed(text))) {
        const bool gap = c == ' ' || c == '-' || c == '_' || c == '.' || c == '\t';
        if (!gap)
            plain += c;
        else if (!plain.empty() && plain.back() != ' ')
            plain += ' ';
    }
    while (!plain.empty() && plain.back() == ' ')
        plain.pop_back();
    return plain;
}

std::vector<std::string> listed(std::string_view text) {
    std::vector<std::string> parts;
    while (!text.empty()) {
        const std::size_t end = text.find_first_of(";,/+&");
        const std::string_view part = trimmed(text.substr(0, end));
        if (!part.empty()) parts.emplace_back(part);
        text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
    }
    return parts;
}

std::optional<EventKind> kind_named(std::string_view name) {
    for (const EventKind kind : all_kinds)
        if (name == name_of(kind)) return kind;
    return std::nullopt;
}

Synonyms Synonyms::bare() {
    Synonyms words;
    for (const EventKind kind : all_kinds)
        words.kinds[plain_name(name_of(kind))] = kind;
    for (const char* column :
         {"time", "kind", "channel", "x_m", "y_m", "z_m", "note", "end_s", "snr_db", "confidence"})
        words.columns[plain_name(column)] = column;
    words.columns["time s"] = words.columns["onset s"] = "time";
    words.unknown = {"?"};
    return words;
}

bool Synonyms::is_unknown(std::string_view cell) const {
    const std::string plain = plain_name(cell);
    return plain.empty() || std::find(unknown.begin(), unknown.end(), plain) != unknown.end();
}

std::optional<EventKind> Synonyms::kind_of(std::string_view cell) const {
    std::string plain = plain_name(cell);
    while (!plain.empty() && (plain.back() == '?' || plain.back() == ' '))
        plain.pop_back();
    if (const auto whole = kinds.find(plain); whole != kinds.end()) return whole->second;
    std::optional<EventKind> found;
    std::string_view rest = plain;
    while (!rest.empty()) {
        const std::size_t end = rest.find_first_of(" ,;/()+&?!");
        const auto word = kinds.find(std::string(rest.substr(0, end)));
        if (word != kinds.end()) {
            if (found && *found != word->second) return std::nullopt;
            found = word->second;
        }
        rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
    }
    return found;
}

std::string Synonyms::column_of(std::string_view heading) const {
    const auto found = columns.find(plain_name(heading));
    return found == columns.end() ? std::string() : found->second;
}

Synonyms load_synonyms(const std::string& path) {
    const Json json = load_json(path);
    const JsonObject checked(json, path, "");
    checked.allow_only({"format", "version", "kinds", "columns", "unknown"});
    (void)checked.word("format", {"lull-synonyms"});
    (void)checked.whole("version", 1, 1);
    Synonyms words = Synonyms::bare();
    each_word(path, json, "kinds", [&](const std::string& name, const std::string& word) {
        const std::optional<EventKind> kind = kind_named(name);
        if (!kind)
            throw_input(path, "kinds." + name, "is no kind of event",
                        "use tapping, voice-like, horn or other");
        const auto [place, fresh] = words.kinds.try_emplace(word, *kind);
        if (!fresh && place->second != *kind)
            throw_input(path, "kinds." + name, "\"" + word + "\" already means another kind", "");
    });
    const Synonyms own = Synonyms::bare();
    each_word(path, json, "columns", [&](const std::string& name, const std::string& word) {
        if (own.column_of(name) != name)
            throw_input(path, "columns." + name, "is no column of a sheet",
                        "use time, kind, channel, x_m, y_m or note");
        words.columns.try_emplace(word, name);
    });
    if (json.contains("unknown"))
        each_word(
            path, Json{{"unknown", {{"cells", json["unknown"]}}}}, "unknown",
            [&](const std::string&, const std::string& word) { words.unknown.push_back(word); });
    return words;
}

} // namespace lull
