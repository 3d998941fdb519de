"""What is held and why: findings, holds, contacts."""
