// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/internal/evidence_words.hpp"

#include <gtest/gtest.h>

namespace lull {
namespace {

TEST(EvidenceWords, AnotherSeriesIsNamedByTheFindThatItIs) {
    Account account;
    account.finds.resize(2);
    account.finds[0].number = 1;
    account.finds[0].series = 12;
    Find& heard = account.finds[1];
    heard.number = 2;
    heard.evidence = {{"channels", 3.0, 0}, {"like_series", 12.0, 0}, {"correlation", 0.53, 2}};
    EXPECT_EQ(evidence_sentence(heard, account, Language::english()),
              "heard on 3 channels; sounds like find 1; correlation 0.53");
    account.finds[0].series.reset(); // it is the team's own, or was not listed
    EXPECT_EQ(evidence_sentence(heard, account, Language::english()), "heard on 3 channels");
}

TEST(EvidenceWords, ASoundHeardAgainOnceHasNoPlural) {
    Find find;
    find.kind = EventKind::tapping;
    find.form = FindForm::again;
    find.events = {7};
    EXPECT_EQ(form_words(find, Language::english()), "tapping, heard again");
    find.events = {7, 9};
    EXPECT_EQ(form_words(find, Language::english()), "tapping, heard again 2 times");
}

} // namespace
} // namespace lull
