// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page.hpp"

#include "report/csv.hpp"
#include "report/hail_words.hpp"
#include "report/internal/cells.hpp"
#include "report/internal/markup.hpp"
#include "report/internal/page_data.hpp"
#include "report/internal/page_finds.hpp"
#include "report/internal/page_frame.hpp"
#include "report/pictures/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <span>

namespace lull {
namespace {

/// Bytes of the page that maps and blocks of events may take: so many at least, more in a long
/// recording, and so many at most. Two minutes stay under 3 MB with all else, a night under 10 MB.
struct Room {
    double least, a_second, most;
};
constexpr Room map_room{0.15e6, 2000.0, 1.5e6}, block_room{0.3e6, 6000.0, 4.0e6};
constexpr std::size_t most_part_bytes = 1000000;

std::size_t bytes_of(const Room& room, const ReportData& report) {
    const double wanted = room.a_second * (report.account->to_s - report.account->from_s);
    return static_cast<std::size_t>(std::clamp(wanted, room.least, room.most));
}

const Table* table_named(const ReportData& report, std::string_view name) {
    for (const Table& table : report.tables)
        if (table.name == name) return &table;
    return nullptr;
}

std::string table_section(const ReportData& report, const char* name, const std::string& heading) {
    const Table* table = table_named(report, name);
    return table ? section(name, heading,
                           html_table(*table, most_rows_shown, report.language, heading))
                 : std::string();
}

std::string counts_section(const ReportData& report) {
    const Language& say = report.language;
    const FindCounts& counts = report.account->counts;
    const std::string not_listed =
        counts.not_listed ? fmt::format("{}", *counts.not_listed) : say["not_counted"];
    return section("counts", say["counts"],
                   html_table({say["headline"], say["lower"], say["listed_events"], say["of_hails"],
                               say["not_listed"]},
                              {{fmt::format("{}", counts.headline), fmt::format("{}", counts.lower),
                                fmt::format("{}", counts.events),
                                fmt::format("{}", counts.of_hails), not_listed}},
                              say["counts"]));
}

/// Which channels were fit to hear, in few words: the table further down says all.
std::string fitness_section(const ReportData& report) {
    const Language& say = report.language;
    std::string rows;
    for (int c = 0; c < static_cast<int>(report.account->recording().channels.size()); ++c) {
        const FitnessVerdict verdict = fitness_of(c, report.account->findings);
        const char* name = name_of(verdict.fitness);
        rows +=
            fmt::format("<li class=\"{}\"><b>{}</b> {}{}</li>\n", name,
                        escape_markup(name_in(report, c)), escape_markup(say.value(name)),
                        verdict.why.empty() ? "" : ": " + escape_markup(say.phrase(verdict.why)));
    }
    return section("fitness", say["fitness"], "<ul tabindex=\"0\">" + rows + "</ul>\n");
}

std::string place_caption(const PlacePicture& place, const Language& say) {
    constexpr std::string_view series = "series ";
    return place.name.starts_with(series)
               ? say.filled("place_of_series", {{"name", place.name.substr(series.size())},
                                                {"evidence", say.phrase(place.evidence)}})
               : say.filled("place_of_event",
                            {{"name", place.name}, {"evidence", say.phrase(place.evidence)}});
}

std::string places_section(const ReportData& report) {
    const Language& say = report.language;
    std::string figures;
    std::size_t shown = 0;
    for (const PlacePicture& place : report.places) {
        if (figures.size() + place.svg.size() > bytes_of(map_room, report)) break;
        ++shown;
        const std::string caption = place_caption(place, say);
        figures += fmt::format("<figure id=\"{}\">", place_anchor(place.name)) +
                   for_later(place.svg) + "<figcaption>" + escape_markup(caption) +
                   "</figcaption></figure>\n";
    }
    if (report.places.empty()) return {};
    if (shown < report.places.size())
        figures +=
            element("p", say.filled("more_maps",
                                    {{"count", std::to_string(report.places.size() - shown)}}));
    return section("places", say["places"], element("p", say["places_about"]) + figures);
}

std::vector<std::string> columns_of(const Language& say, std::initializer_list<const char*> names) {
    std::vector<std::string> heads;
    for (const char* name : names)
        heads.push_back(say.column(name));
    return heads;
}

std::string audible_section(const ReportData& report) {
    const Language& say = report.language;
    std::string figures;
    for (const PlacePicture& one : report.audible) {
        if (figures.size() + one.svg.size() > bytes_of(map_room, report)) break;
        figures += "<figure>" + for_later(one.svg) + "<figcaption>" +
                   escape_markup(say.phrase(one.name) + ": " + say.phrase(one.evidence)) +
                   "</figcaption></figure>\n";
    }
    return figures.empty()
               ? figures
               : section("audible", say["audible"],
                         "<p><strong>" + escape_markup(say["audible_caveat"]) + "</strong></p>\n" +
                             element("p", say["audible_about"]) + figures);
}

std::string hails_section(const ReportData& report) {
    const Language& say = report.language;
    const Table* table = table_named(report, "hails");
    if (!table || table->rows.empty()) return {};
    std::string words;
    if (report.account->hail_chance)
        words = element("p", hail_sentence(*report.account->hail_chance, say) + ".") +
                element("p", say["hail_assumptions"]);
    return section("hails", say["hails"],
                   element("p", say["hails_about"]) +
                       html_table(*table, most_rows_shown, say, say["hails"]) + words);
}

std::string log_section(const ReportData& report) {
    const Language& say = report.language;
    std::vector<std::vector<std::string>> rows;
    for (const LogRow& row : report.account->log)
        rows.push_back({number_text(row.time_s, 1), row.person, say.value(row.action), row.text});
    return rows.empty()
               ? std::string()
               : section("log", say["log"],
                         html_table(columns_of(say, {"time_s", "person", "action", "text"}), rows,
                                    say["log"]));
}

std::string judgements_section(const ReportData& report) {
    const Language& say = report.language;
    std::vector<std::vector<std::string>> rows;
    for (const JudgementRow& row : report.account->judgements)
        rows.push_back({row.when, row.reviewer, number_text(row.onset_s, 3), row.channel,
                        say.value(row.old_kind), say.value(row.judgement), say.value(row.new_kind),
                        row.reason, row.new_onset_s ? number_text(*row.new_onset_s, 3) : ""});
    return rows.empty() ? std::string()
                        : section("judgements", say["judgements"],
                                  html_table(columns_of(say, {"when", "reviewer", "onset_s",
                                                              "channel", "old kind", "judgement",
                                                              "new kind", "reason", "new_onset_s"}),
                                             rows, say["judgements"]));
}

std::string notices_section(const ReportData& report) {
    std::string items;
    for (const Notice& notice : report.account->recording().notices)
        items += element("li", (notice.file.empty() ? std::string() : notice.file + ": ") +
                                   report.language.phrase(notice.text));
    return items.empty()
               ? std::string()
               : section("notices", report.language["notices"], "<ul>" + items + "</ul>\n");
}

std::string made_section(const ReportData& report) {
    std::vector<std::vector<std::string>> inputs, settings;
    for (const InputFile& input : report.account->recording().inputs)
        inputs.push_back({input.label, fmt::format("{}", input.bytes), input.sha256, input.format,
                          input.frames_promised ? fmt::format("{}", *input.frames_promised) : "",
                          fmt::format("{}", input.frames)});
    for (const SettingShown& setting : report.account->provenance.settings)
        settings.push_back({setting.name, cell_text(setting.value, setting.decimals)});
    const Language& say = report.language;
    return section(
        "made", say["made"],
        element("p", fmt::format("{} {}", report.account->provenance.tool, LULL_VERSION)) +
            element("h3", say["inputs"]) +
            html_table(
                columns_of(say, {"file", "bytes", "sha256", "format", "frames_promised", "frames"}),
                inputs, say["inputs"]) +
            element("h3", say["settings"]) +
            html_table(columns_of(say, {"setting", "value"}), settings, say["settings"]));
}

/// Blocks of finds: as many in the page as it may hold, and those that follow in files beside it,
/// a script each, since a page opened from a disk may load nothing else.
class Details {
  public:
    /// Writes their section onto the page: megabytes, so nothing is put together elsewhere.
    Details(const ReportData& report, const std::function<void(const PageFile&)>& beside,
            std::string& page)
        : room_(page.size() + bytes_of(block_room, report)), beside_(beside), page_(page) {
        const std::vector<Find>& finds = report.account->finds;
        const Language& say = report.language;
        const std::string head = section_begin("details", say["details"]) + "<p class=\"static\">" +
                                 escape_markup(say["details_about"]) + "</p>\n";
        room_ += head.size();
        page_ += head;
        add_blocks(report);
        const std::size_t left_out = finds.size() - shown_ - outside_;
        if (outside_ > 0)
            page_ +=
                "<p class=\"static\">" +
                escape_markup(say.filled("more_details", {{"count", std::to_string(outside_)}})) +
                "</p>\n";
        if (left_out > 0)
            page_ +=
                "<p class=\"static\">" +
                escape_markup(say.filled("not_detailed", {{"count", std::to_string(left_out)}})) +
                "</p>\n";
        page_ += section_end;
    }

    [[nodiscard]] std::size_t parts() const { return parts_; }

  private:
    void add_blocks(const ReportData& report) {
        const std::vector<Find>& finds = report.account->finds;
        for (const Find& find : std::span(finds).first(finds_shown(finds)))
            add(find_block(report, find));
        end_part();
    }

    void add(const std::string& block) {
        if (outside_ == 0 && page_.size() + block.size() <= room_) {
            page_ += block;
            ++shown_;
            return;
        }
        part_ += block;
        ++outside_;
        if (part_.size() >= most_part_bytes) end_part();
    }

    void end_part() {
        if (part_.empty()) return;
        beside_({fmt::format("details/part-{:03}.js", ++parts_), script_with_markup(part_)});
        part_.clear();
    }

    std::size_t room_; ///< bytes of the page that blocks may fill it to
    const std::function<void(const PageFile&)>& beside_;
    std::string& page_;
    std::string part_;
    std::size_t shown_ = 0, outside_ = 0, parts_ = 0;
};

} // namespace

std::string page_html(const ReportData& report,
                      const std::function<void(const PageFile&)>& beside) {
    const Language& say = report.language;
    std::string html = page_begin(report) + "<div id=\"desk\">\n<div id=\"top\">" +
                       session_heading(report) + "</div>\n";
    html += finds_section(report) + fitness_section(report) + whole_section(report);
    const Details details(report, beside, html);
    html += "</div>\n" + counts_section(report) + hails_section(report) + places_section(report) +
            audible_section(report) + table_section(report, "channels", say["channels"]) +
            table_section(report, "findings", say["findings"]);
    html += log_section(report) + judgements_section(report) + notices_section(report) +
            made_section(report) + page_end(report, details.parts());
    return html;
}

} // namespace lull
