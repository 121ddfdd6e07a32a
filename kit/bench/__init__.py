"""The maths of the bench: stocks and dilutions, batches, weighing and balances."""
