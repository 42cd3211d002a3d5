// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/evidence_words.hpp"

#include "report/csv.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <string_view>

namespace lull {
namespace {

const std::map<std::string_view, const char*> text_of_code{
    {"taps", "evidence_taps"},
    {"syllables", "evidence_syllables"},
    {"blasts", "evidence_blasts"},
    {"interval_s", "evidence_interval_s"},
    {"regularity", "evidence_regularity"},
    {"channels", "evidence_channels"},
    {"snr_db", "evidence_snr_db"},
    {"rise_ms", "evidence_rise_ms"},
    {"decay_ms", "evidence_decay_ms"},
    {"decay_to_floor_ms", "evidence_decay_to_floor_ms"},
    {"fundamental_hz", "evidence_fundamental_hz"},
    {"centroid_hz", "evidence_centroid_hz"},
    {"like_series", "evidence_like_series"},
    {"correlation", "evidence_correlation"},
    {"strong_blow", "evidence_strong_blow"},
    {"in_quiet", "evidence_in_quiet"},
    {"after_hail", "evidence_after_hail"},
    {"after_s", "evidence_after_s"},
};

const char* text_of_form(FindForm form) {
    switch (form) {
    case FindForm::series:
        return "form_series";
    case FindForm::call:
        return "form_call";
    case FindForm::signal:
        return "form_signal";
    case FindForm::again:
        return "form_again";
    case FindForm::blow:
        return "form_blow";
    case FindForm::single:
        break;
    }
    return "form_single";
}

/// The number of the find that this one sounds like; none: that series is no find, so a reader
/// could not look it up.
std::optional<double> similar_find(const Find& find, const Account& account) {
    const auto told = std::ranges::find(find.evidence, "like_series", &Evidence::code);
    if (told == find.evidence.end()) return std::nullopt;
    const std::optional series(static_cast<int>(told->figure.value_or(0.0)));
    const auto like = std::ranges::find(account.finds, series, &Find::series);
    if (like == account.finds.end()) return std::nullopt;
    return like->number;
}

} // namespace

std::string evidence_sentence(const Find& find, const Account& account, const Language& say) {
    const std::optional<double> like = similar_find(find, account);
    std::string sentence;
    for (const Evidence& one : find.evidence) {
        const auto text = text_of_code.find(one.code);
        if (text == text_of_code.end()) continue;
        if (!like && (one.code == "like_series" || one.code == "correlation")) continue;
        const std::optional<double> figure = one.code == "like_series" ? like : one.figure;
        sentence +=
            (sentence.empty() ? "" : "; ") +
            (figure ? say.filled(text->second, {{"figure", number_text(*figure, one.decimals)}})
                    : say[text->second]);
    }
    return sentence;
}

std::string form_words(const Find& find, const Language& say) {
    const bool alone = find.events.size() < 2 && find.form != FindForm::blow;
    const char* const one = find.form == FindForm::again ? "form_again_once" : "form_single";
    return say.filled(
        alone ? one : text_of_form(find.form),
        {{"kind", say.value(name_of(find.kind))}, {"count", std::to_string(find.events.size())}});
}

} // namespace lull
