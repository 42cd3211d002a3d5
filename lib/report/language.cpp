// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/language.hpp"

#include "error.hpp"
#include "recording/strict_json.hpp"
#include "report/internal/english.hpp"
#include "report/internal/phrases.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <array>
#include <set>
#include <stdexcept>

namespace lull {
namespace {

using nlohmann::json;
using nlohmann::ordered_json;

constexpr std::array sections = {"page", "columns", "values", "phrases", "script", "keys"};

const ordered_json& english_words() {
    static const ordered_json words = parse_ordered_json(std::string(english_text()), "en.json");
    return words;
}

/// The names in braces of a sentence.
std::set<std::string> places_in(const std::string& text) {
    std::set<std::string> names;
    for (std::size_t at = 0; (at = text.find('{', at)) != std::string::npos; ++at)
        if (const std::size_t end = text.find('}', at); end != std::string::npos)
            names.insert(text.substr(at, end - at + 1));
    return names;
}

/// Puts a section's texts in the place of the English ones.
void translate(ordered_json& words, const JsonObject& given, const char* section,
               std::vector<std::string>& untranslated) {
    std::vector<std::string> names;
    for (const auto& [name, text] : words[section].items())
        names.push_back(name);
    const json none = json::object();
    const JsonObject own = given.has(section) ? given.object(section) : JsonObject(none, "", "");
    own.allow_only(names);
    for (const std::string& name : names) {
        if (!own.has(name.c_str())) {
            untranslated.push_back(std::string(section) + "." + name);
            continue;
        }
        std::string text = own.text(name.c_str());
        if (places_in(text) != places_in(words[section][name]))
            own.fail(name.c_str(), "has other places in braces than the English",
                     fmt::format("those of \"{}\"", words[section][name].get<std::string>()));
        words[section][name] = std::move(text);
    }
}

std::map<std::string, std::string, std::less<>> texts_of(const ordered_json& section) {
    std::map<std::string, std::string, std::less<>> texts;
    for (const auto& [name, text] : section.items())
        texts.emplace(name, text.get<std::string>());
    return texts;
}

} // namespace

Language read_language(const std::string& file) {
    Language language;
    ordered_json words = english_words();
    if (!file.empty()) {
        const json read = load_json(file);
        const JsonObject given(read, file, "");
        given.allow_only({"format", "version", "code", "page", "columns", "values", "phrases",
                          "script", "keys"});
        (void)given.word("format", {"lull-language"});
        (void)given.whole("version", 1, 1);
        words["code"] = given.text("code");
        for (const char* section : sections)
            translate(words, given, section, language.untranslated_);
    }
    language.code_ = words["code"];
    language.page_ = texts_of(words["page"]);
    language.columns_ = texts_of(words["columns"]);
    language.values_ = texts_of(words["values"]);
    for (const auto& [name, text] : words["phrases"].items()) {
        const auto english = english_words()["phrases"][name].get<std::string>();
        if (text != english) language.phrases_.push_back({english, text});
    }
    sort_by_words(language.phrases_);
    ordered_json script = words["script"];
    script["values"] = words["values"];
    script["columns"] = words["columns"];
    script["keys"] = ordered_json::array(); // in the order of the file
    for (const auto& [key, text] : words["keys"].items())
        script["keys"].push_back({key, text});
    language.script_ = script.dump();
    return language;
}

const Language& Language::english() {
    static const Language words = read_language("");
    return words;
}

const std::string& Language::operator[](std::string_view name) const {
    const auto found = page_.find(name);
    if (found == page_.end()) throw std::out_of_range("no text " + std::string(name));
    return found->second;
}

std::string Language::filled(std::string_view name, std::initializer_list<Fill> with) const {
    const std::string& text = (*this)[name];
    std::string out;
    for (std::size_t at = 0; at < text.size();) {
        const auto place = std::ranges::find_if(with, [&](const Fill& fill) {
            return text.compare(at, fill.first.size() + 2, fmt::format("{{{}}}", fill.first)) == 0;
        });
        out += place == with.end() ? std::string(1, text[at]) : place->second;
        at += place == with.end() ? 1 : place->first.size() + 2;
    }
    return out;
}

std::string Language::column(std::string_view name) const {
    const auto found = columns_.find(name);
    return found == columns_.end() ? std::string(name) : found->second;
}

std::string Language::value(std::string_view text) const {
    const auto found = values_.find(text);
    return found == values_.end() ? std::string(text) : found->second;
}

std::string Language::phrase(std::string_view text) const {
    return translate(text, phrases_);
}

} // namespace lull
