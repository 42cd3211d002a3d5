// SPDX-License-Identifier: GPL-3.0-or-later
#include "command/table_stream.hpp"

#include "command/output_check.hpp"
#include "error.hpp"
#include "report/csv.hpp"

#include <cerrno>
#include <cstdio>
#include <cstring>

namespace lull {
namespace {

bool is_json(const TableOutput& output) {
    return output.format.empty() ? ending_of(output.file) == ".json" : output.format == "json";
}

} // namespace

TableStream::TableStream(const TableOutput& output, std::function<Provenance()> provenance)
    : json_(is_json(output)), provenance_(std::move(provenance)) {
    if (!output.file.empty()) file_.emplace(output.file);
}

void TableStream::put(std::string_view text) {
    if (file_)
        file_->write(text);
    else if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size())
        throw_output("standard output", std::strerror(errno), "");
}

void TableStream::add(const Table& table) {
    if (json_) {
        if (!begun_) put(table_json_begin(table, provenance_()));
        put(table_json_rows(table, rows_));
    } else {
        put(begun_ ? csv_rows(table) : to_csv(table));
    }
    begun_ = true;
    rows_ += table.rows.size();
}

void TableStream::close() {
    if (json_) put(table_json_end(rows_));
    if (file_)
        file_->commit();
    else if (std::fflush(stdout) != 0)
        throw_output("standard output", std::strerror(errno), "");
}

} // namespace lull
