// lw_scan_counts TABLE.LWT: the bound of the table's worst scan and of a message taken up, then each count
// that it is made of, as compare.py reads them.
#include <cstdio>
#include <fstream>
#include <iterator>

#include "table/bytes.hpp"
#include "table/scan_bound.hpp"

int main(int count, char** arguments) {
  if (count != 2) return 2;
  std::ifstream file(arguments[1], std::ios::binary);
  const std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(file), {}};
  const lw::Decoded decoded = lw::decode(bytes);
  if (!decoded.table) return 1;
  const lw::ScanBound bound = lw::scan_bound(*decoded.table);
  std::printf("scan %llu\nmessage %llu\n", static_cast<unsigned long long>(lw::cost_of(bound.scan)),
              static_cast<unsigned long long>(lw::cost_of(bound.message)));
  for (std::size_t n = 0; n < lw::kScanWorks; ++n)
    std::printf("count %s %llu %llu\n", lw::name_of(static_cast<lw::ScanWork>(n)),
                static_cast<unsigned long long>(bound.any_scan[n]),
                static_cast<unsigned long long>(bound.message[n]));
  return 0;
}
