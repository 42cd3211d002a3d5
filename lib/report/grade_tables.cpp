// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/grade_tables.hpp"

#include "grading/class_figures.hpp"
#include "report/csv.hpp"
#include "report/internal/cells.hpp"

#include <cstdint>
#include <utility>

namespace lull {
namespace {

using lull::cell_of;
Cell cell_of(const std::string& text) {
    return text.empty() ? Cell() : Cell(text);
}
Cell cell_of(const std::optional<bool>& value) {
    return value ? Cell(std::string(*value ? "yes" : "no")) : Cell();
}

/// Columns and cells added side by side, so that they cannot come apart.
class RowWriter {
  public:
    explicit RowWriter(Table& table) : table_(table), first_(table.columns.empty()) {}
    ~RowWriter() { table_.rows.push_back(std::move(cells_)); }
    RowWriter(const RowWriter&) = delete;
    RowWriter& operator=(const RowWriter&) = delete;

    RowWriter& add(const std::string& name, Cell cell, int decimals = -1) {
        if (first_) table_.columns.push_back({name, decimals});
        cells_.push_back(std::move(cell));
        return *this;
    }
    RowWriter& add(const std::string& name, const Estimate& e, int decimals) {
        return add(name, cell_of(e.value), decimals)
            .add(name + "_low", cell_of(e.low), decimals)
            .add(name + "_high", cell_of(e.high), decimals);
    }

  private:
    Table& table_;
    bool first_;
    std::vector<Cell> cells_;
};

constexpr int share = 3; ///< decimals

void add_counts(RowWriter& row, const std::string& listener, const SheetTally& t) {
    row.add("listener", cell_of(listener))
        .add("hits", cell_of(t.counts.hits))
        .add("misses", cell_of(t.counts.misses))
        .add("false_calls", cell_of(t.counts.false_calls))
        .add("repeats", cell_of(t.repeats))
        .add("precision", t.precision, share)
        .add("recall", t.recall, share)
        .add("f", t.f, share);
}

void add_details(RowWriter& row, const SheetTally& t, bool one_listener) {
    const auto only = [&](Cell cell) { return one_listener ? std::move(cell) : Cell(); };
    row.add("kind_right", only(cell_of(t.kind_right)))
        .add("kind_stated", only(cell_of(t.kind_stated)))
        .add("kind", t.kind, share)
        .add("channel_right", only(cell_of(t.channel_right)))
        .add("channel_stated", only(cell_of(t.channel_stated)))
        .add("channel", t.channel, share)
        .add("place_error_m", t.place_error_m, 2)
        .add("slots", only(cell_of(t.slots_with + t.slots_without)))
        .add("d_prime", t.detection.d_prime, share)
        .add("criterion", t.detection.criterion, share)
        .add("points", only(t.points), 2)
        .add("points_possible", only(t.points_possible), 2);
}

void add_clock(RowWriter& row, const ListenerGrade* g) {
    const auto when = [&](auto get) { return g ? cell_of(get(*g)) : Cell(); };
    const bool told = g && g->shift.bias_s.has_value();
    row.add("offset_s", g && g->shift.pairs >= 3 ? Cell(g->shift.offset_s) : Cell(), 2)
        .add("bias_s",
             told ? Estimate{g->shift.bias_s, g->shift.bias_low_s, g->shift.bias_high_s}
                  : Estimate{},
             2)
        .add("clock", when([](const ListenerGrade& l) { return l.shift.words; }))
        .add("clock_matters", g ? cell_of(std::optional<bool>(g->shift_matters)) : Cell())
        .add("hits_as_written",
             when([](const ListenerGrade& l) { return l.as_written.counts.hits; }))
        .add("false_calls_as_written",
             when([](const ListenerGrade& l) { return l.as_written.counts.false_calls; }))
        .add("f_as_written", g ? g->as_written.f : Estimate{}, share)
        .add("lines_not_read", when([](const ListenerGrade& l) {
                 int lost = 0;
                 for (const SheetFault& fault : l.faults)
                     lost += fault.line_lost ? 1 : 0;
                 return lost;
             }));
}

void add_score_row(Table& table, const Grade& grade, const ListenerGrade& g,
                   const std::string& name) {
    RowWriter row(table);
    row.add("exercise", cell_of(grade.exercise));
    add_counts(row, name, g.tally);
    add_details(row, g.tally, true);
    add_clock(row, &g);
    row.add("threshold_db", g.curve.threshold_db, 2);
}

void add_group_row(Table& table, const Grade& grade) {
    SheetTally t;
    t.counts = grade.group.counts;
    t.precision = grade.group.precision;
    t.recall = grade.group.recall;
    t.f = grade.group.f;
    t.place_error_m = grade.group.place_error_m;
    for (const ListenerGrade& g : grade.listeners)
        t.repeats += g.tally.repeats;
    RowWriter row(table);
    row.add("exercise", cell_of(grade.exercise));
    add_counts(row, "all", t);
    add_details(row, t, false);
    add_clock(row, nullptr);
    row.add("threshold_db", grade.group.curve.threshold_db, 2);
}

template <typename Visit>
void each_grade(const Grade& grade, Visit visit) {
    for (const ListenerGrade& g : grade.listeners)
        visit(g, g.name);
    if (grade.program) visit(*grade.program, std::string("program"));
}

/// A table that has no rows still has its columns.
Table empty_table(const char* name, std::initializer_list<const char*> columns) {
    Table table{name, {}, {}};
    for (const char* column : columns)
        table.columns.push_back({column, -1});
    return table;
}

void add_curve(Table& table, const std::string& name, const HearingCurve& curve) {
    RowWriter(table)
        .add("listener", cell_of(name))
        .add("threshold_db", curve.threshold_db, 2)
        .add("spread_db", curve.spread_db, 2)
        .add("guess", curve.guess, share)
        .add("lapse", curve.lapse, share)
        .add("trials", cell_of(curve.trials))
        .add("why_not", cell_of(curve.why_not));
}

std::string joined(const std::vector<std::string>& names) {
    std::string text;
    for (const std::string& name : names)
        text += (text.empty() ? "" : ";") + name;
    return text;
}

} // namespace

Table scores_table(const Grade& grade) {
    Table table{"scores", {}, {}};
    for (const ListenerGrade& g : grade.listeners)
        add_score_row(table, grade, g, g.name);
    add_group_row(table, grade);
    if (grade.program) add_score_row(table, grade, *grade.program, "program");
    return table;
}

Table answers_table(const Grade& grade) {
    Table table{"answers", {}, {}};
    each_grade(grade, [&](const ListenerGrade& g, const std::string& name) {
        for (const GradedAnswer& a : g.answers)
            RowWriter(table)
                .add("listener", cell_of(name))
                .add("line", cell_of(a.answer.line))
                .add("written_s", a.answer.time_s, 3)
                .add("time_s", a.time_s, 3)
                .add("outcome", std::string(name_of(a.outcome)))
                .add("event", a.event ? cell_of(*a.event) : Cell())
                .add("late_s", cell_of(a.late_s), 3)
                .add("kind_right", cell_of(a.kind_right))
                .add("channel_right", cell_of(a.channel_right))
                .add("place_error_m", cell_of(a.place_error_m), 2)
                .add("really_there", cell_of(a.really_there))
                .add("excerpt", a.excerpt ? cell_of(a.excerpt->name) : Cell());
    });
    if (!table.rows.empty()) return table;
    return empty_table("answers",
                       {"listener", "line", "written_s", "time_s", "outcome", "event", "late_s",
                        "kind_right", "channel_right", "place_error_m", "really_there", "excerpt"});
}

Table misses_table(const Grade& grade) {
    Table table{"misses", {}, {}};
    each_grade(grade, [&](const ListenerGrade& g, const std::string& name) {
        for (const Miss& miss : g.misses)
            for (const EventGrade& e : grade.events) {
                if (e.event.number != miss.event) continue;
                RowWriter(table)
                    .add("listener", cell_of(name))
                    .add("event", cell_of(miss.event))
                    .add("time_s", e.event.time_s, 3)
                    .add("kind", std::string(name_of(e.event.kind)))
                    .add("channel", cell_of(joined(e.event.channels)))
                    .add("snr_db", snr_cell(e.event.snr_db), 1)
                    .add("excerpt", cell_of(miss.excerpt.name))
                    .add("from_s", miss.excerpt.from_s, 3)
                    .add("to_s", miss.excerpt.to_s, 3);
            }
    });
    if (!table.rows.empty()) return table;
    return empty_table("misses", {"listener", "event", "time_s", "kind", "channel", "snr_db",
                                  "excerpt", "from_s", "to_s"});
}

Table heard_table(const Grade& grade) {
    Table table{"heard", {}, {}};
    for (const EventGrade& e : grade.events)
        RowWriter(table)
            .add("event", cell_of(e.event.number))
            .add("time_s", e.event.time_s, 3)
            .add("kind", std::string(name_of(e.event.kind)))
            .add("channel", cell_of(joined(e.event.channels)))
            .add("snr_db", snr_cell(e.event.snr_db), 1)
            .add("heard", cell_of(e.heard))
            .add("listeners", cell_of(e.listeners))
            .add("share", e.share, share)
            .add("heard_by", cell_of(joined(e.heard_by)));
    if (!table.rows.empty()) return table;
    return empty_table("heard", {"event", "time_s", "kind", "channel", "snr_db", "heard",
                                 "listeners", "share", "share_low", "share_high", "heard_by"});
}

Table class_table(const Grade& grade) {
    Table table{"class", {}, {}};
    each_grade(grade, [&](const ListenerGrade& g, const std::string& name) {
        const std::vector<EventHearing> hearings = hearings_of(g, grade.events);
        for (std::size_t i = 0; i < hearings.size(); ++i) {
            const EventGrade& e = grade.events[i];
            const GradedAnswer a = hearings[i].answer.value_or(GradedAnswer{});
            RowWriter(table)
                .add("exercise", cell_of(grade.exercise))
                .add("listener", cell_of(name))
                .add("event", cell_of(e.event.number))
                .add("time_s", e.event.time_s, 3)
                .add("kind", std::string(name_of(e.event.kind)))
                .add("channel", cell_of(joined(e.event.channels)))
                .add("snr_db", snr_cell(e.event.snr_db), 1)
                .add("heard", std::string(name_of(hearings[i].hearing)))
                .add("line", hearings[i].answer ? cell_of(a.answer.line) : Cell())
                .add("late_s", cell_of(a.late_s), 3)
                .add("kind_written",
                     a.answer.kind ? Cell(std::string(name_of(*a.answer.kind))) : Cell())
                .add("channel_written", cell_of(joined(a.answer.channels)))
                .add("channel_right", cell_of(a.channel_right))
                .add("place_error_m", cell_of(a.place_error_m), 2)
                .add("excerpt", cell_of(e.excerpt.name));
        }
    });
    if (!table.rows.empty()) return table;
    return empty_table("class", {"exercise", "listener", "event", "time_s", "kind", "channel",
                                 "snr_db", "heard", "line", "late_s", "kind_written",
                                 "channel_written", "channel_right", "place_error_m", "excerpt"});
}

Table curves_table(const Grade& grade) {
    Table table{"curves", {}, {}};
    for (const ListenerGrade& g : grade.listeners)
        add_curve(table, g.name, g.curve);
    add_curve(table, "all", grade.group.curve);
    if (grade.program) add_curve(table, "program", grade.program->curve);
    return table;
}

Table apart_table(const Grade& grade) {
    Table table = empty_table("apart", {"higher", "lower"});
    for (const Apart& pair : grade.apart)
        table.rows.push_back({pair.higher, pair.lower});
    return table;
}

Table faults_table(const Grade& grade) {
    Table table = empty_table("not-read", {"listener", "line", "column", "what", "line_lost"});
    each_grade(grade, [&](const ListenerGrade& g, const std::string& name) {
        for (const SheetFault& fault : g.faults)
            table.rows.push_back({cell_of(name), cell_of(fault.line), cell_of(fault.column),
                                  cell_of(fault.what),
                                  cell_of(std::optional<bool>(fault.line_lost))});
    });
    return table;
}

Table learning_table(std::span<const LearningPoint> points) {
    Table table{"learning", {}, {}};
    for (const LearningPoint& p : points)
        RowWriter(table)
            .add("listener", cell_of(p.listener))
            .add("turn", cell_of(p.turn))
            .add("exercise", cell_of(p.exercise))
            .add("hits", cell_of(p.counts.hits))
            .add("misses", cell_of(p.counts.misses))
            .add("false_calls", cell_of(p.counts.false_calls))
            .add("recall", p.recall, share)
            .add("f", p.f, share)
            .add("recall_change", p.recall_change, share)
            .add("threshold_db", p.threshold_db, 2);
    return table;
}

Table log_table(std::span<const LogFinding> findings) {
    Table table =
        empty_table("log", {"event", "log", "written_s", "after_s", "person", "listening"});
    table.columns[2].decimals = table.columns[3].decimals = 3;
    for (const LogFinding& f : findings)
        table.rows.push_back({cell_of(f.event), cell_of(f.words), cell_of(f.written_s),
                              cell_of(f.after_s), cell_of(f.person), cell_of(f.listening)});
    return table;
}

Table agreement_table(const ReviewerAgreement& a) {
    Table table{"agreement", {}, {}};
    RowWriter(table)
        .add("first", cell_of(a.first))
        .add("second", cell_of(a.second))
        .add("slots", cell_of(a.agreement.slots))
        .add("agreed", a.agreement.observed, share)
        .add("by_chance", a.agreement.by_chance, share)
        .add("kappa", a.agreement.kappa, share);
    return table;
}

Table key_table(const NameKey& key) {
    Table table = empty_table("key", {"pseudonym", "name"});
    for (const auto& [name, pseudonym] : key)
        table.rows.push_back({pseudonym, name});
    return table;
}

} // namespace lull
