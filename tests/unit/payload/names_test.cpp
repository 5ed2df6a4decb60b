// Names of files and folders: what every card can carry, and nothing that leads out of a folder.
#include "payload/names.hpp"

#include <doctest/doctest.h>

#include <set>

namespace {

using namespace lw::payload;
using Names = std::vector<std::string>;

TEST_CASE("a clip's file is numbered in the order of the table, with the kind it is of") {
  CHECK(clip_file_name(0, "wav") == "CLIP0001.WAV");
  CHECK(clip_file_name(41, "ogg") == "CLIP0042.OGG");
  CHECK(clip_file_name(9, "flac") == "CLIP0010.FLA");
  CHECK(clip_file_name(9, "mp3") == "CLIP0010.MP3");
  CHECK(clip_file_name(kMostClips - 1, "aiff") == "CLIP9999.AIF");
  CHECK(clip_file_name(0, "") == "CLIP0001.SND");
  CHECK(clip_file_name(0, "a/b..c") == "CLIP0001.ABC");
}

TEST_CASE("only files that a build writes have a card's names") {
  for (const char* good :
       {"TABLE.LWT", "SYMBOLS.JSN", "MANIFEST.JSN", "CLIP0001.WAV", "CLIP9999.MP3", "CLIP0020.W"}) {
    CAPTURE(good);
    CHECK(is_card_file_name(good));
  }
  for (const char* bad : {"",
                          ".",
                          "..",
                          "/",
                          "table.lwt",
                          "ROOM.JSN",
                          "CLIP1.WAV",
                          "CLIP00001.WAV",
                          "CLIP0001.",
                          "CLIP0001",
                          "CLIP0000.WAV",
                          "CLIP0001.WAVE",
                          "CLIP0001.W/V",
                          "CLIP0001.W.V",
                          "CLIP/001.WAV",
                          "../TABLE.LWT",
                          "/TABLE.LWT",
                          "TABLE.LWT/",
                          "TABLE.LWT ",
                          "CLIP0001.wav",
                          "CON",
                          "NUL.LWT"}) {
    CAPTURE(bad);
    CHECK_FALSE(is_card_file_name(bad));
  }
  CHECK_FALSE(is_card_file_name(std::string_view("TABLE.LWT\0", 10)));
}

TEST_CASE("only plain names are folders of a payload") {
  CHECK(is_folder_name("front"));
  CHECK(is_folder_name("Front-2_b"));
  CHECK(is_folder_name(std::string(kLongestFolderName, 'a')));
  CHECK_FALSE(is_folder_name(std::string(kLongestFolderName + 1, 'a')));
  for (const char* bad : {"", ".", "..", "a/b", "/a", "a/", "a.", "a b", "a\\b", "a:b", "con", "COM1", "lpt9",
                          "a\n", "\xc3\xa9"}) {
    CAPTURE(bad);
    CHECK_FALSE(is_folder_name(bad));
  }
}

TEST_CASE("a controller's folder has its name, changed only as far as FAT needs it") {
  CHECK(folder_names({"front", "vault", "stage_2"}) == Names{"front", "vault", "stage_2"});
  CHECK(folder_names({"con", "aux", "com1", "nul"}) == Names{"con_", "aux_", "com1_", "nul_"});
  CHECK(folder_names({"console", "com", "com10"}) == Names{"console", "com", "com10"});
  CHECK(folder_names({"Front", "front", "FRONT"}) == Names{"Front", "front_2", "FRONT_3"});
  CHECK(folder_names({"front", "front_2", "FRONT"}) == Names{"front", "front_2", "FRONT_3"});
  CHECK(folder_names({"con", "con_"}) == Names{"con_", "con__2"});
  CHECK(folder_names({"a.", "a", "a "}) == Names{"a_", "a", "a__2"});
  CHECK(folder_names({"", "../x", "a/b"}) == Names{"controller", "___x", "a_b"});
}

TEST_CASE("whatever the controllers are called, folders are plain and no two alike") {
  Names wild = {"",       ".",   "..",  "/",   "CON",  "con",      "cOn", "con_",
                "con__2", "a:b", "a*b", "a?b", "\xff", "\xc3\xa9", "a\nb"};
  for (int i = 0; i < 12; ++i) wild.push_back(std::string(80, 'x') + std::to_string(i));
  for (int i = 0; i < 12; ++i) wild.push_back(std::string(64, 'X'));
  const Names names = folder_names(wild);
  REQUIRE(names.size() == wild.size());
  std::set<std::string> folded;
  for (const std::string& name : names) {
    CAPTURE(name);
    CHECK(is_folder_name(name));
    CHECK(folded.insert(fold_case(name)).second);
  }
}

TEST_CASE("what computers leave on cards is known") {
  for (const char* known : {"System Volume Information", ".Trashes", ".DS_Store", "Thumbs.db", "._TABLE.LWT",
                            ".Trash-1000", "$RECYCLE.BIN", "lost+found"}) {
    CAPTURE(known);
    CHECK(is_housekeeping(known));
  }
  CHECK_FALSE(is_housekeeping("notes.txt"));
  CHECK_FALSE(is_housekeeping("TABLE.LWT"));
  CHECK_FALSE(is_housekeeping(".hidden"));
}

}  // namespace
