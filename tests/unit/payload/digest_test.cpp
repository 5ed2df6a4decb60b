// SHA-256 against the examples of FIPS 180-4 (NIST's example files: "abc", the 56 byte message, a million
// "a"), and against the digest of nothing. The three long values were computed once more with Python's
// hashlib.
#include "payload/digest.hpp"

#include <doctest/doctest.h>

#include <string>
#include <string_view>

namespace {

using lw::payload::Sha256;
using lw::payload::sha256_hex;

TEST_CASE("SHA-256 gives the digests of FIPS 180-4") {
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(sha256_hex(std::string(1000000, 'a')) ==
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("SHA-256 of parts is that of the whole, wherever it is cut") {
  std::string text;
  for (int i = 0; i < 200; ++i) text.push_back(static_cast<char>(i));
  for (std::size_t cut = 0; cut <= text.size(); ++cut) {
    Sha256 digest;
    digest.add(std::string_view(text).substr(0, cut));
    digest.add(std::string_view(text).substr(cut));
    CHECK(digest.hex() == sha256_hex(text));
  }
}

}  // namespace
