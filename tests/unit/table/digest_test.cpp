#include "table/digest.hpp"

#include <doctest/doctest.h>
#include <sodium/crypto_hash_sha256.h>

#include <string>

#include "table/bytes.hpp"
#include "tables.hpp"

namespace lw {
namespace {

using Bytes = std::vector<std::uint8_t>;

/// The first 8 bytes of SHA-256, as a little-endian number.
std::uint64_t first_of_sha256(const Bytes& bytes) {
  unsigned char out[crypto_hash_sha256_BYTES];
  crypto_hash_sha256(out, bytes.data(), bytes.size());
  std::uint64_t value = 0;
  for (unsigned k = 0; k < 8; ++k) value |= std::uint64_t{out[k]} << (8 * k);
  return value;
}

}  // namespace

TEST_CASE("the identity is the start of SHA-256 over all tables with identity and CRC zero") {
  // "abc" of FIPS 180-4's example: ba7816bf 8f01cfea ...
  CHECK(first_of_sha256({'a', 'b', 'c'}) == 0xEACF018FBF1678BAu);
  rows::Table second = testing::full_table();
  second.identity = 0x1122334455667788;
  Bytes a = encode(testing::small_table()).bytes;
  Bytes b = encode(second).bytes;
  Bytes joined;
  for (const Bytes* table : {&a, &b}) {
    // Byte by byte: 12 to 23 are identity and CRC.
    for (std::size_t n = 0; n < table->size(); ++n)
      joined.push_back(n < 12 || n >= 24 ? (*table)[n] : std::uint8_t{0});
  }
  const std::uint64_t identity = set_identity({&a, &b});
  CHECK(identity == first_of_sha256(joined));
  for (const Bytes* table : {&a, &b}) {
    const Decoded decoded = decode(*table);
    REQUIRE(decoded.table.has_value());
    CHECK(decoded.table->identity == identity);
  }
  // Again over the filled tables, the same.
  CHECK(set_identity({&a, &b}) == identity);
  CHECK(set_identity({&b, &a}) != identity);
}

}  // namespace lw
