// SPDX-License-Identifier: GPL-3.0-or-later
//
// Tables and reports as JSON (RFC 8259). Numbers have the digits that the CSV shows, unknown is
// null, and the same input gives the same bytes. Schemas: data/schema/table.schema.json and
// report.schema.json.
#pragma once

#include "account/find.hpp"
#include "account/provenance.hpp"
#include "detect/hail_chance.hpp"
#include "recording/atomic_file.hpp"
#include "recording/digest.hpp"
#include "recording/recording.hpp"
#include "report/table.hpp"

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lull {

/// One table as a JSON array of objects, a row a line.
[[nodiscard]] std::string rows_json(const Table& table);

/// The document of a tool that gives one table ("format": "lull-table").
[[nodiscard]] std::string table_json(const Table& table, const Provenance& provenance);
/// The same in parts, for a table that comes piece by piece: what is before the rows, rows that
/// follow so many, and what is after them all.
[[nodiscard]] std::string table_json_begin(const Table& table, const Provenance& provenance);
[[nodiscard]] std::string table_json_rows(const Table& table, std::size_t before);
[[nodiscard]] std::string table_json_end(std::size_t rows);

/// The same as JSON Lines, an object a line that names its table: a head with version, tool and
/// caution
/// ("table": "about"), rows, and an end with how many there were, settings, inputs, start and
/// notices
/// ("table": "end").
[[nodiscard]] std::string lines_begin(const std::string& tool);
[[nodiscard]] std::string lines_rows(const Table& table);
[[nodiscard]] std::string lines_end(std::size_t rows, const Provenance& provenance);

/// report.json ("format": "lull-report"), table by table: head, notices, counts, and the tables as
/// arrays. A night's would not fit into memory.
class ReportJson {
  public:
    /// \param chance  of what followed the hails; null in the document without hails
    /// \throws Error(output), as add and close do
    ReportJson(std::string path, const Provenance& provenance, const FindCounts& counts,
               const std::optional<HailChance>& chance);
    /// A table, or the next rows of the one before, which has the same name.
    void add(const Table& table);
    /// Ends the document and puts it under its name. \return its SHA-256
    [[nodiscard]] std::string close();

  private:
    void put(std::string_view text);
    void end_table();

    AtomicFile file_;
    Sha256 digest_;
    std::string name_;     ///< of the table that is open; empty: none
    std::size_t rows_ = 0; ///< written of it
};

/// A document with tables in memory, such as night.json: with another format's name, and what it
/// says beside the counts.
[[nodiscard]] std::string summary_json(const char* format, const Provenance& provenance,
                                       const FindCounts& counts, std::span<const SettingShown> said,
                                       std::span<const Table> tables);

} // namespace lull
