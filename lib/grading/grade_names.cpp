// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/grade_names.hpp"

#include "error.hpp"
#include "grading/sheet_rows.hpp"
#include "recording/digest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <utility>

namespace lull {
NameKey with_pseudonyms(NameKey key, std::span<const std::string> names, const std::string& salt) {
    std::set<std::string> taken;
    for (const auto& [name, pseudonym] : key)
        taken.insert(pseudonym);
    std::vector<std::pair<std::string, std::string>> fresh; // digest, name
    for (const std::string& name : names)
        if (!key.contains(name)) fresh.emplace_back(sha256_of_text(salt + '\n' + name), name);
    std::sort(fresh.begin(), fresh.end());
    int number = 0;
    for (const auto& [unused, name] : fresh) {
        if (key.contains(name)) continue; // the same name twice
        std::string pseudonym;
        do
            pseudonym = fmt::format("L{:02}", ++number);
        while (taken.contains(pseudonym));
        key[name] = pseudonym;
        taken.insert(pseudonym);
    }
    return key;
}

NameKey parse_name_key(const std::string& bytes, const std::string& file) {
    const WrittenRows table = split_written_rows(bytes, file);
    NameKey key;
    std::set<std::string> taken;
    for (const WrittenRow& row : table.rows) {
        const std::string place = fmt::format("line {}", row.line);
        if (&row == &table.rows.front()) {
            if (row.cells != std::vector<std::string>{"pseudonym", "name"})
                throw_input(file, place, "is not the heading of a key", "use: pseudonym,name");
            continue;
        }
        if (row.cells.size() != 2 || row.cells[0].empty() || row.cells[1].empty())
            throw_input(file, place, "is not a pseudonym and a name", "");
        if (!taken.insert(row.cells[0]).second)
            throw_input(file, place + ", pseudonym",
                        "\"" + row.cells[0] + "\" stands for two names", "");
        key[row.cells[1]] = row.cells[0];
    }
    return key;
}

} // namespace lull
