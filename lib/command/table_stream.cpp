// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/table_stream.hpp"

#include "command/output_check.hpp"
#include "error.hpp"
#include "report/csv.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>

namespace lull {

TableStream::Form TableStream::form_of(const TableOutput& output) {
    const std::string form = output.format.empty() ? ending_of(output.file) : "." + output.format;
    return form == ".jsonl" ? Form::lines : form == ".json" ? Form::json : Form::csv;
}

TableStream::TableStream(const TableOutput& output, const std::string& tool,
                         std::function<Provenance()> provenance)
    : form_(form_of(output)), provenance_(std::move(provenance)) {
    if (!output.file.empty()) file_.emplace(output.file);
    if (form_ != Form::lines) return;
    put(lines_begin(tool));
    flush();
}

void TableStream::put(std::string_view text) {
    if (file_)
        file_->write(text);
    else if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size())
        throw_output("standard output", std::strerror(errno), "");
}

void TableStream::flush() {
    if (!file_ && std::fflush(stdout) != 0)
        throw_output("standard output", std::strerror(errno), "");
}

void TableStream::add_early(const Table& table) {
    if (form_ != Form::lines) return;
    put(lines_rows(table));
    flush();
}

void TableStream::add(const Table& table) {
    if (form_ == Form::json) {
        if (!begun_) put(table_json_begin(table, provenance_()));
        put(table_json_rows(table, rows_));
    } else if (form_ == Form::lines) {
        put(lines_rows(table));
        flush();
    } else {
        put(begun_ ? csv_rows(table) : to_csv(table));
    }
    begun_ = true;
    rows_ += table.rows.size();
}

void TableStream::close() {
    if (form_ == Form::json) put(table_json_end(rows_));
    if (form_ == Form::lines) put(lines_end(rows_, provenance_()));
    if (file_)
        file_->commit();
    else
        flush();
}

} // namespace lull
