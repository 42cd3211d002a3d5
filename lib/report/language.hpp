// SPDX-License-Identifier: GPL-3.0-or-later
//
// Every word of the page, in one language. English is data/language/en.json, compiled in; a
// translation is another file with the same keys.
#pragma once

#include <initializer_list>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace lull {

/// "on {count} channels within {within} ms", and the same in another language, its places in any
/// order.
struct Phrase {
    std::string english, translated;
};

class Language {
  public:
    /// What comes in the place of "{name}" in a sentence.
    using Fill = std::pair<std::string_view, std::string>;

    [[nodiscard]] static const Language& english();

    /// A text of the section "page". \throws std::out_of_range for a name that English does not
    /// have
    [[nodiscard]] const std::string& operator[](std::string_view name) const;
    /// The same with its places filled.
    [[nodiscard]] std::string filled(std::string_view name, std::initializer_list<Fill> with) const;
    /// The heading of a table's column; its own name where there is no other.
    [[nodiscard]] std::string column(std::string_view name) const;
    /// A word that tables hold ("tapping", "fit") as this language says it; else the text itself.
    [[nodiscard]] std::string value(std::string_view text) const;
    /// Sentences of the analysis (why an event was taken for what it is, what is wrong with a
    /// channel) as this language says them; tables and reports keep their English form.
    [[nodiscard]] std::string phrase(std::string_view text) const;
    [[nodiscard]] const std::string& code() const { return code_; } ///< "en", for browsers
    /// Words of the page's script, its keys and the values, as a JSON object.
    [[nodiscard]] const std::string& script() const { return script_; }
    /// What a translation leaves out, "page.heard": it is in English then.
    [[nodiscard]] const std::vector<std::string>& untranslated() const { return untranslated_; }

    friend Language read_language(const std::string& file);

  private:
    Language() = default;
    using Texts = std::map<std::string, std::string, std::less<>>;
    std::string code_, script_;
    Texts page_, columns_, values_;
    std::vector<Phrase> phrases_; ///< none in English
    std::vector<std::string> untranslated_;
};

/// A translation: the keys of data/language/en.json, any of them left out. \throws Error(input) for
/// a file that is none, a key that is not known (naming the nearest), a value that is no text, or
/// one whose places in braces are not those of the English
[[nodiscard]] Language read_language(const std::string& file);

} // namespace lull
