#include "store/store.hpp"
#include <gtest/gtest.h>
TEST(Store, X) { auto s = halflight::store::ProjectStore::open("/tmp/x/y.db"); for (auto& d : s ? halflight::Diagnostics{} : s.error()) ADD_FAILURE() << to_text(d); }
