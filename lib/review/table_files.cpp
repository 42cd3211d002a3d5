// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/table_files.hpp"

#include "report/csv.hpp"
#include "report/json.hpp"
#include "report/tables.hpp"
#include "report/tables_finds.hpp"

#include <algorithm>
#include <array>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <utility>

namespace lull {
namespace {

/// Tables that grow with a night are larger than all that they are made from: rows of so many
/// items are made at a time.
constexpr std::size_t piece_items = 4096;

/// Takes a table, or the next rows of the one before (of the same name).
using Take = std::function<void(Table&&)>;

template <class Item, class Make>
void in_pieces(const std::vector<Item>& items, const Make& make, const Take& take) {
    std::size_t first = 0;
    do {
        const std::size_t count = std::min(piece_items, items.size() - first);
        take(make(std::span(items).subspan(first, count)));
        first += count;
    } while (first < items.size());
}

/// All tables of the contract in its order.
void make_tables(const Account& account, const Take& take) {
    const Recording& recording = account.recording();
    const auto of = [&recording](Table (*make)(std::span<const Event>, const Recording&)) {
        return
            [make, &recording](std::span<const Event> events) { return make(events, recording); };
    };
    in_pieces(
        account.finds,
        [&account](std::span<const Find> finds) { return finds_table(account, finds); }, take);
    take(channels_table(account.health, account.findings, account.floors, account.contacts,
                        recording));
    take(findings_table(account.findings, recording));
    take(noise_table(account.noise, recording));
    take(quiet_table(account.quiet));
    in_pieces(account.events, of(events_table), take);
    in_pieces(account.events, of(arrivals_table), take);
    take(series_table(account.series, recording));
    take(hails_table(account.hails, account.hail_chance, recording));
    const auto ranking = [&](std::span<const RankRow> rows) {
        return ranking_table(rows, recording);
    };
    in_pieces(account.ranking, ranking, take);
    const auto delays = [&](std::span<const DelayEstimate> rows) {
        return delays_table(rows, recording);
    };
    in_pieces(account.delays, delays, take);
    take(clocks_table(account.clocks, recording));
}

/// A file for each table, and report.json.
class TableFiles {
  public:
    TableFiles(OutputFolder& folder, const Account& account)
        : folder_(folder), json_(folder.path_of("report.json"), account.provenance, account.counts,
                                 account.hail_chance) {}

    void add(const Table& table) {
        if (table.name == name_) {
            csv_->write(csv_rows(table));
        } else {
            end_csv();
            name_ = table.name;
            csv_.emplace(folder_.path_of(name_ + ".csv"));
            csv_->write(to_csv(table));
        }
        json_.add(table);
    }

    /// \return the digest of report.json
    [[nodiscard]] std::string close() {
        end_csv();
        return json_.close();
    }

  private:
    void end_csv() {
        if (csv_) csv_->commit();
        csv_.reset();
    }

    OutputFolder& folder_;
    ReportJson json_;
    std::string name_; ///< of the table that is being written
    std::optional<AtomicFile> csv_;
};

} // namespace

void write_tables(OutputFolder& folder, ReportData& report, const std::vector<Table>& further) {
    constexpr std::array shown = {"channels", "findings", "hails"};
    TableFiles files(folder, *report.account);
    make_tables(*report.account, [&](Table&& table) {
        files.add(table);
        if (std::ranges::find(shown, table.name) != shown.end())
            report.tables.push_back(std::move(table));
    });
    for (const Table& table : further)
        files.add(table);
    report.digest = files.close();
}

} // namespace lull
