// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/phrases.hpp"

#include <algorithm>
#include <optional>
#include <utility>

namespace lull {
namespace {

/// A pattern taken apart: words, a place, words, ... words.
struct Pieces {
    std::vector<std::string_view> words; ///< one more than places; may be empty
    std::vector<std::string_view> places;
};

Pieces pieces_of(std::string_view pattern) {
    Pieces pieces;
    std::size_t from = 0;
    for (std::size_t open = 0; (open = pattern.find('{', from)) != std::string_view::npos;) {
        const std::size_t close = pattern.find('}', open);
        if (close == std::string_view::npos) break;
        pieces.words.push_back(pattern.substr(from, open - from));
        pieces.places.push_back(pattern.substr(open + 1, close - open - 1));
        from = close + 1;
    }
    pieces.words.push_back(pattern.substr(from));
    return pieces;
}

/// What stands in each place, found from the end: a place is as short there as it can be.
std::optional<std::vector<std::string_view>> fit(const Pieces& pieces, std::string_view text) {
    const std::string_view begin = pieces.words.front(), end = pieces.words.back();
    if (pieces.places.empty())
        return text == begin ? std::optional(std::vector<std::string_view>()) : std::nullopt;
    if (!text.starts_with(begin)) return std::nullopt;
    text.remove_prefix(begin.size());
    if (!text.ends_with(end)) return std::nullopt;
    text.remove_suffix(end.size());
    std::vector<std::string_view> found(pieces.places.size());
    for (std::size_t place = found.size() - 1; place > 0; --place) {
        const std::size_t at = text.rfind(pieces.words[place]);
        if (at == std::string_view::npos) return std::nullopt;
        found[place] = text.substr(at + pieces.words[place].size());
        text = text.substr(0, at);
    }
    found[0] = text;
    if (std::ranges::any_of(found, [](std::string_view part) { return part.empty(); }))
        return std::nullopt;
    return found;
}

std::string translate_parts(std::string_view text, std::string_view between,
                            const std::vector<Phrase>& phrases) {
    std::string out;
    for (;;) {
        const std::size_t at = text.find(between);
        out += translate(text.substr(0, at), phrases);
        if (at == std::string_view::npos) return out;
        out += between;
        text.remove_prefix(at + between.size());
    }
}

std::size_t words_in(const Phrase& phrase) {
    std::size_t count = 0;
    for (const std::string_view words : pieces_of(phrase.english).words)
        count += words.size();
    return count;
}

} // namespace

std::string translate(std::string_view text, const std::vector<Phrase>& phrases) {
    if (text.empty() || phrases.empty()) return std::string(text);
    if (text.find("; ") != std::string_view::npos) return translate_parts(text, "; ", phrases);
    for (const Phrase& phrase : phrases) {
        const Pieces english = pieces_of(phrase.english);
        const auto found = fit(english, text);
        if (!found) continue;
        const Pieces own = pieces_of(phrase.translated);
        std::string out(own.words.front());
        for (std::size_t i = 0; i < own.places.size(); ++i) {
            const auto at = std::ranges::find(english.places, own.places[i]);
            if (at != english.places.end())
                out += translate((*found)[static_cast<std::size_t>(at - english.places.begin())],
                                 phrases);
            out += own.words[i + 1];
        }
        return out;
    }
    if (text.find(", ") != std::string_view::npos) return translate_parts(text, ", ", phrases);
    return std::string(text);
}

void sort_by_words(std::vector<Phrase>& phrases) {
    std::ranges::stable_sort(phrases, std::ranges::greater(), words_in);
}

} // namespace lull
