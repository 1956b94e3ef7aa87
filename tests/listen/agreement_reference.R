# Kappa in its forms and rank correlation in base R, against what the program's functions print for the same draws.
# Usage: Rscript agreement_reference.R PROGRAM (listen_agreement). R has no kappa of its own: the formulas here are
# written in matrices, apart from the program's sums over pairs.
program <- commandArgs(TRUE)[1]
kappa_of <- function(table, weights) {
  seen <- table / sum(table)
  chance <- outer(rowSums(seen), colSums(seen))
  1 - sum(weights * seen) / sum(weights * chance)
}
fleiss <- function(counts) {
  judges <- sum(counts[1, ])
  shares <- colSums(counts) / sum(counts)
  each <- (rowSums(counts^2) - judges) / (judges * (judges - 1))
  (mean(each) - sum(shares^2)) / (1 - sum(shares^2))
}
wrong <- 0
for (seed in 1:20) {
  lines <- system2(program, as.character(seed), stdout = TRUE)
  row <- function(name) as.numeric(strsplit(sub(paste0("^", name, " "), "", grep(paste0("^", name, " "), lines, value = TRUE)), " ")[[1]])
  a <- factor(row("first"), 0:4); b <- factor(row("second"), 0:4)
  steps <- outer(0:4, 0:4, "-")
  counts <- matrix(row("counts"), ncol = 4, byrow = TRUE)
  x <- row("x"); y <- row("y"); w <- row("weight")
  want <- c(kappa_of(table(a, b), (steps != 0) * 1), kappa_of(table(a, b), steps^2), fleiss(counts),
            cor(rep(x, w), rep(y, w), method = "spearman"))
  got <- row("results")
  bad <- abs(got - want) > 1e-9
  if (any(bad)) cat("seed", seed, ": program", got[bad], "R", want[bad], "\n")
  wrong <- wrong + sum(bad)
}
cat("80 values compared with R,", wrong, "wrong\n")
quit(status = if (wrong > 0) 1 else 0)
