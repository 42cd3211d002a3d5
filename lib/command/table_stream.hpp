// SPDX-License-Identifier: GPL-3.0-or-later
//
// Writes a tool's table in parts, to a file or to standard output, as CSV, JSON or JSON Lines.
#pragma once

#include "command/options.hpp"
#include "recording/atomic_file.hpp"
#include "report/json.hpp"
#include "report/table.hpp"

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace lull {

class TableStream {
  public:
    /// Opens the file. JSON Lines are written from then on.
    /// \param provenance  called for the head of a JSON document, or for the end of JSON Lines
    /// \throws Error(output), as add and close do, with the system's reason
    TableStream(const TableOutput& output, const std::string& tool,
                std::function<Provenance()> provenance);

    /// Writes rows of a provisional table before the end of the analysis. Only JSON Lines have
    /// them.
    void add_early(const Table& table);

    /// Writes the table, or its next rows.
    void add(const Table& table);
    /// Gives the file its final name. Needs at least one call of add before, even without rows.
    void close();

  private:
    enum class Form { csv, json, lines };
    static Form form_of(const TableOutput& output);
    void put(std::string_view text);
    void flush();

    Form form_;
    std::function<Provenance()> provenance_;
    std::optional<AtomicFile> file_; ///< empty: standard output
    bool begun_ = false;
    std::size_t rows_ = 0;
};

/// Collects rows and passes them on some thousands at a time.
template <class Row>
class RowBuffer {
  public:
    /// \param take  gets the next rows
    explicit RowBuffer(std::function<void(std::span<const Row>)> take) : take_(std::move(take)) {}

    template <class Rows>
    void add(Rows&& rows) {
        for (Row& row : rows)
            rows_.push_back(std::move(row));
        if (rows_.size() >= most) flush();
    }
    void flush() {
        take_(rows_);
        rows_.clear();
    }

  private:
    static constexpr std::size_t most = 4096;
    std::function<void(std::span<const Row>)> take_;
    std::vector<Row> rows_;
};

} // namespace lull
