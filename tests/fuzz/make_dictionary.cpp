// The words and marks of the language as libFuzzer's dictionary, on standard output.
//
// Made from grammar/words.def, so that a new word is tried as soon as it is there.
#include <cstdio>
#include <set>
#include <string>

int main() {
  std::set<std::string> words = {"->",
                                 "±",
                                 "+",
                                 "-",
                                 "%",
                                 "{",
                                 "}",
                                 "(",
                                 ")",
                                 ",",
                                 ".",
                                 "\"",
                                 "#",
                                 "\n",
                                 "..",
                                 ":",
                                 "or",
                                 "and",
                                 "\\",
                                 "1",
                                 "0",
                                 "I1",
                                 "K1",
                                 "S1",
                                 ".I1",
                                 "4294967296",
                                 "1/3",
                                 "0.001",
                                 "language 1\n",
                                 " at front.I1\n",
                                 "prop a on front {",
                                 "\x1E",
                                 "“",
                                 "9223372036854775807"};
#define LW_WORD(word) words.insert(#word);
#define LW_KIND(word, group) words.insert(#word);
#define LW_UNIT(id, written, dimension, factor, shown) words.insert(written);
#define LW_SPELLING(written, id) words.insert(written);
#include "grammar/words.def"
  for (const std::string& word : words) {
    if (word.empty()) continue;
    std::string line;
    for (const char c : word) {
      const auto byte = static_cast<unsigned char>(c);
      if (c == '"' || c == '\\') {
        line += '\\';
        line += c;
      } else if (byte < 0x20 || byte > 0x7E) {
        char hex[5];
        std::snprintf(hex, sizeof hex, "\\x%02X", byte);
        line += hex;
      } else {
        line += c;
      }
    }
    std::printf("\"%s\"\n", line.c_str());
  }
  return 0;
}
