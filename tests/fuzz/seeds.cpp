// seeds OUT FILE...: what fuzzing starts from. OUT/language gets the text of each room with the files that it
// uses, and OUT/table the table of each of its controllers, when it has tables, followed by a little life.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>

#include "check/compile.hpp"

namespace {

void write(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

/// Some of everything that a controller meets: its session begins, inputs change, time goes by, it hears
/// others.
std::string some_life() {
  std::string life;
  const auto say = [&](std::initializer_list<int> bytes) {
    for (const int byte : bytes) life += static_cast<char>(byte);
  };
  say({4, 1});
  for (int input = 0; input < 8; ++input)
    for (const int value : {1, 0, 2}) say({1, input, value, 0x81, input, 0x82, 1, value});
  for (int k = 0; k < 3; ++k) say({0x88, k, 1, 0, 0x51, 0, 0, k, 0, k, 7, 3, 1, 40});
  say({0x80, 255, 4, 0x80, 1, 4, 14, 0x80, 9, 4, 1, 4, 48, 4, 1});
  return life;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const std::filesystem::path out = argv[1];
  std::filesystem::create_directories(out / "language");
  std::filesystem::create_directories(out / "table");
  for (int n = 2; n < argc; ++n) {
    lw::ReadError error;
    const auto room = lw::compile(argv[n], "", error);
    if (!room) {
      std::fprintf(stderr, "seeds: %s: %s\n", argv[n], error.reason.c_str());
      return 1;
    }
    const std::filesystem::path folder = std::filesystem::path(argv[n]).parent_path();
    const std::string name =
        folder.filename().string() + "-" + std::filesystem::path(argv[n]).stem().string();
    std::string text;
    for (std::size_t k = 0; k < room->sources.count(); ++k) {
      const auto file = static_cast<lw::FileId>(k);
      if (k != 0)
        text += "\x1E" +
                std::filesystem::path(room->sources.name(file)).lexically_relative(folder).generic_string() +
                "\n";
      text += room->sources.text(file);
    }
    write(out / "language" / name, text);
    if (!room->tables) continue;
    for (std::size_t k = 0; k < room->tables->controllers.size(); ++k) {
      const auto& bytes = room->tables->controllers[k].bytes;
      write(out / "table" / (name + "-" + std::to_string(k)),
            std::string(bytes.begin(), bytes.end()) + some_life());
    }
  }
  return 0;
}
