// SPDX-License-Identifier: GPL-3.0-or-later
//
// A tool's table on its way out, piece by piece: to a file or to standard output, as CSV,
// JSON or JSON Lines.
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
    /// Opens the file; JSON Lines begin at once.
    /// \param provenance  asked for a JSON document's head, or the end of JSON Lines
    /// \throws Error(output), as add and close do, with the system's reason
    TableStream(const TableOutput& output, const std::string& tool,
                std::function<Provenance()> provenance);

    /// Rows of another table that tell before the end what is being found: JSON Lines alone have
    /// them.
    void add_early(const Table& table);

    /// The table, or the next rows of it.
    void add(const Table& table);
    /// Puts the file under its name. Needs one piece at least, be it without rows.
    void close();

  private:
    enum class Form { csv, json, lines };
    static Form form_of(const TableOutput& output);
    void put(std::string_view text);
    void flush();

    Form form_;
    std::function<Provenance()> provenance_;
    std::optional<AtomicFile> file_; ///< none: standard output
    bool begun_ = false;
    std::size_t rows_ = 0;
};

/// A table that comes row by row, handed on some thousands at a time.
template <class Row>
class RowBuffer {
  public:
    /// \param take  gets rows that are next
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
