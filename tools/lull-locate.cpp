// SPDX-License-Identifier: GPL-3.0-or-later
//
// Estimates where events came from, and how certain that is.
#include "command/job.hpp"
#include "error.hpp"
#include "recording/atomic_file.hpp"
#include "report/tables_locate.hpp"
#include "review/place.hpp"

#include <numeric>

int main(int argc, char** argv) {
    lull::Tool tool(
        "lull-locate",
        "Finds where events came from, from delays and levels, with how sure that is.",
        {{"lull-locate session.json --delays delays.csv --ranking ranking.csv",
          "Where each event came from, as far as the sensors allow."},
         {"lull-locate session.json --delays delays.csv --events events.csv --picture map.svg",
          "Series located as one source, with a map."}});
    lull::InputOptions input;
    lull::TableOutput output;
    lull::PlaceFiles files;
    std::string cells, next, forbidden, picture;
    double reach_m = 5.0;
    tool.add_input(input);
    tool.add_table_output(output);
    auto& app = tool.app();
    tool.reads(app.add_option("--delays", files.delays, "Delays table, as lull-delay writes it"))
        ->required();
    tool.reads(app.add_option("--ranking", files.ranking, "Ranking table, as lull-rank writes it"));
    tool.reads(
        app.add_option("--events", files.events,
                       "Events table: series are located as one, moves of sensors honoured"));
    tool.add_table_file("--cells", cells,
                        "Also write the probability of each cell of the grid to FILE");
    auto* advice =
        tool.add_table_file("--next", next, "Also write where to put a sensor next to FILE");
    lull::shown_as(
        app.add_option("--reach", reach_m, "How far beyond the sensors one may be moved"), "METRES",
        "5")
        ->check(lull::number_between(0.0, 1000.0))
        ->needs(advice);
    tool.reads(app.add_option("--forbidden", forbidden,
                              "Areas to keep off: table of corners with columns area, x_m, y_m"))
        ->needs(advice);
    tool.add_picture_file("--picture", picture, "Also draw a map to FILE (.svg)");

    return tool.run(argc, argv, [&] {
        lull::Job job(tool, input);
        const lull::Placing found =
            lull::place_from_tables(job.recording(), files, job.jobs(), job.progress());
        job.end_progress();
        job.tell(found.notices);
        if (!cells.empty() && !job.recording().session.grid)
            throw lull::Error(lull::ErrorKind::usage, "--cells", "", "the session has no grid",
                              "give grid in the session file");
        job.write(lull::locations_table(found.places), output);
        if (!cells.empty()) job.write_further(lull::cells_table(found.places), cells);
        if (!next.empty())
            job.write_further(
                lull::next_table(lull::advise_moves(found, reach_m, forbidden), job.recording()),
                next);
        if (!picture.empty()) {
            std::vector<std::size_t> all(found.places.size());
            std::iota(all.begin(), all.end(), std::size_t{0});
            lull::write_file(picture, lull::place_map(found, all, job.recording()));
        }
        return job.status();
    });
}
