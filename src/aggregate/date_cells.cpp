#include "aggregate/date_cells.h"

#include <algorithm>
#include <tuple>

#include "base/missing.h"

namespace hearwood {
std::size_t DateCells::KeyHash::operator()(const Key& key) const {
    std::uint64_t mixed = key.site;
    mixed = mixed * 1'000'003 + static_cast<std::uint32_t>(key.day);
    mixed = mixed * 1'000'003 + static_cast<std::uint32_t>(key.part);
    mixed = mixed * 1'000'003 + key.source;
    return mixed * 0x9E3779B97F4A7C15u >> 16;
}

std::size_t DateCells::cell_of(const Key& key) {
    const auto [index, is_new] = indices_.emplace(key, cells_.size());
    if (is_new) {
        cells_.push_back({key});
        means_.resize(means_.size() + columns_);
        counts_.resize(counts_.size() + columns_);
        if (spread_) squares_.resize(squares_.size() + columns_);
    }
    return index->second;
}

void DateCells::add(const Where& where, bool kept, std::span<const double> values) {
    const std::size_t cell =
        cell_of({static_cast<std::uint32_t>(where.site), day_number(where.date), where.part,
                 static_cast<std::uint32_t>(where.source)});
    ++cells_[cell].possible;
    if (!kept) return;
    ++cells_[cell].kept;
    const std::size_t first = cell * columns_;
    for (std::size_t i = 0; i < columns_; ++i) {
        if (is_missing(values[i])) continue;
        const double distance = values[i] - means_[first + i];
        means_[first + i] += distance / ++counts_[first + i];
        if (spread_) squares_[first + i] += distance * (values[i] - means_[first + i]);
    }
}

void DateCells::merge(DateMean& mean, std::span<const std::size_t> cells) const {
    mean.values.assign(columns_, kMissing);
    if (spread_) mean.variances.assign(columns_, kMissing);
    for (const std::size_t cell : cells) {
        mean.kept += cells_[cell].kept;
        mean.possible += cells_[cell].possible;
    }
    for (std::size_t i = 0; i < columns_; ++i) {
        double sum = 0, squares = 0;
        int sources = 0;
        std::int64_t freedom = 0;
        for (const std::size_t cell : cells) {
            const std::size_t index = cell * columns_ + i;
            if (counts_[index] == 0) continue;
            sum += means_[index];
            ++sources;
            if (spread_) squares += squares_[index];
            freedom += counts_[index] - 1;
        }
        if (sources > 0) mean.values[i] = sum / sources;
        if (spread_ && freedom > 0) mean.variances[i] = squares / static_cast<double>(freedom);
    }
}

std::vector<DateMean> DateCells::finish() {
    indices_ = {};
    std::vector<std::size_t> order(cells_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return cells_[a].key < cells_[b].key; });

    const auto index = [&](std::size_t i) {
        const Key& key = cells_[order[i]].key;
        return std::tuple(key.site, key.day, key.part);
    };
    std::vector<DateMean> rows;
    for (std::size_t from = 0, to = 0; from < order.size(); from = to) {
        while (to < order.size() && index(to) == index(from)) ++to;
        const Key& key = cells_[order[from]].key;
        DateMean& row = rows.emplace_back();
        row.site = key.site;
        row.date = Date(std::chrono::days(key.day));
        row.part = key.part;
        merge(row, std::span(order).subspan(from, to - from));
    }
    *this = DateCells(columns_, spread_);
    return rows;
}

std::vector<SiteMean> means_over_dates(const std::vector<DateMean>& rows) {
    std::vector<const DateMean*> order;
    order.reserve(rows.size());
    for (const DateMean& row : rows) order.push_back(&row);
    // Dates stay in order within a site and part, so that sums do not depend on how rows came.
    std::stable_sort(order.begin(), order.end(), [](const DateMean* a, const DateMean* b) {
        return std::tuple(a->site, a->part) < std::tuple(b->site, b->part);
    });
    std::vector<SiteMean> means;
    std::vector<int> dates;
    const auto close = [&] {
        if (means.empty()) return;
        for (std::size_t i = 0; i < dates.size(); ++i)
            means.back().values[i] = dates[i] > 0 ? means.back().values[i] / dates[i] : kMissing;
    };
    for (const DateMean* row : order) {
        if (means.empty() || means.back().site != row->site || means.back().part != row->part) {
            close();
            SiteMean& mean = means.emplace_back();
            mean.site = row->site;
            mean.part = row->part;
            mean.values.assign(row->values.size(), 0);
            dates.assign(row->values.size(), 0);
        }
        SiteMean& mean = means.back();
        mean.kept += row->kept;
        mean.possible += row->possible;
        mean.dates += row->kept > 0 ? 1 : 0;
        for (std::size_t i = 0; i < dates.size(); ++i)
            if (!is_missing(row->values[i])) {
                mean.values[i] += row->values[i];
                ++dates[i];
            }
    }
    close();
    return means;
}

}  // namespace hearwood
