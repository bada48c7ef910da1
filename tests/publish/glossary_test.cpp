#include "subcrop/publish/glossary.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <string>

namespace subcrop::publish {
namespace {

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return result;
}

TEST(Glossary, IsShortSortedAndPlain) {
    ASSERT_FALSE(glossary().empty());
    EXPECT_LE(glossary().size(), 25U);
    std::string before;
    for (const Term& term : glossary().subspan(1)) {  // the first is a sign, not a word
        EXPECT_LT(before, lower(term.word));
        before = lower(term.word);
    }
    for (const Term& term : glossary()) {
        EXPECT_TRUE(term.meaning.ends_with('.')) << term.word;
        std::istringstream words{std::string(term.meaning)};
        std::string word;
        std::size_t in_sentence = 0;
        while (words >> word) {
            EXPECT_LE(++in_sentence, 25U) << term.word;
            if (word.ends_with('.')) in_sentence = 0;
        }
    }
}

}  // namespace
}  // namespace subcrop::publish
